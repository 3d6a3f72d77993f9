import { StringDecoder } from 'node:string_decoder';
import type { ReadStream } from 'node:tty';
import { Refused } from '../model/refusals/refused.ts';
import type { Terminal } from './terminal.ts';

const enter = /[\r\n]/;
const interrupt = '\x03';
const endOfInput = '\x04';
const rubOut = /[\x7f\b]/;

/**
 * Lines that a person types on a terminal that does not show them, one for each question.
 *
 * @throws Refused wrong_usage  where there is no terminal, or the person gives up
 */
export async function askHidden(terminal: Terminal, questions: readonly string[]): Promise<string[]> {
  const input = terminal.input as ReadStream;
  if (input.isTTY !== true)
    throw new Refused('wrong_usage', 'there is no terminal to ask on; use --stdin to read it from standard input');
  const decoder = new StringDecoder('utf8');
  const answers: string[] = [];
  let typed: string[] = [];
  input.setRawMode(true);
  try {
    return await new Promise((resolve, reject) => {
      const ask = () => void terminal.output.write(questions[answers.length] ?? '');
      const take = (chunk: Buffer) => {
        for (const sign of decoder.write(chunk)) {
          if (sign === interrupt || sign === endOfInput)
            return done(() => reject(new Refused('wrong_usage', 'cancelled')));
          if (rubOut.test(sign)) typed.pop();
          else if (!enter.test(sign)) typed.push(sign);
          else {
            answers.push(typed.join(''));
            typed = [];
            terminal.output.write('\n');
            if (answers.length === questions.length) return done(() => resolve(answers));
            ask();
          }
        }
      };
      const done = (then: () => void) => {
        input.off('data', take);
        then();
      };
      input.on('data', take);
      ask();
    });
  } finally {
    input.setRawMode(false);
    input.pause();
  }
}
