import { once } from 'node:events';
import type { Command } from 'commander';
import type { Config } from '../model/config/schema.ts';
import { Refused } from '../model/refusals/refused.ts';
import { openDiary } from '../reports/advise/diary.ts';
import { diaryLineFrom } from '../reports/advise/diary-lines.ts';
import { linesOf } from '../reports/advise/lines-of.ts';
import { exitCode } from './exit-code.ts';
import { readConfig } from './read-config.ts';
import type { Terminal } from './terminal.ts';

type Options = { follow?: boolean };

/** Answers are written in blocks of so many characters, unless somebody waits for each. */
const blockCharacters = 65_536;

async function advise(config: Config, isFollowed: boolean, terminal: Terminal): Promise<void> {
  const diary = openDiary(config);
  let number = 0;
  let answers = '';
  const writeAnswers = async (): Promise<void> => {
    const text = answers;
    answers = '';
    // Whoever reads slowly is waited for.
    if (text !== '' && !terminal.output.write(text)) await once(terminal.output, 'drain');
  };
  const refuse = (why: string): void => {
    terminal.complain(`line ${number}: ${why}`);
    process.exitCode = exitCode.dataSayNo;
  };
  for await (const text of linesOf(terminal.input)) {
    number += 1;
    if (text.trim() === '') continue;
    const line = diaryLineFrom(text);
    try {
      if (line.is === 'bad') refuse(line.why);
      else if (line.is === 'entry') diary.enter(line.entry);
      else answers += `${JSON.stringify(diary.ask(line.system, line.timeMs))}\n`;
    } catch (error) {
      if (!(error instanceof Refused)) throw error;
      refuse(error.message);
    }
    if (isFollowed || answers.length >= blockCharacters) await writeAnswers();
  }
  await writeAnswers();
}

/** `brinekeep advise CONFIG`: what the hub would have said over a diary of JSON lines. */
export function addAdviseVerb(program: Command, terminal: Terminal): void {
  program
    .command('advise')
    .description('the advice of a running hub over a diary: JSON lines in, one JSON line for each that asks')
    .argument('<config>', 'the YAML file')
    .option('--follow', 'answer each question before the next line is read, for a program that writes the diary')
    .addHelpText(
      'after',
      `
Lines on standard input, in order of time:
  {"time": "2026-01-05T09:00:00Z", "kind": "test", "system": "display", "analyte": "alkalinity", "value": 8.1}
  {"time": "2026-01-05T09:00:00Z", "ask": "display"}
Kinds: test, dose, plan, water_change, refill, arrival, reading. Fields as in the HTTP API.`,
    )
    .action((configPath: string, options: Options) =>
      advise(readConfig(configPath, terminal), options.follow === true, terminal),
    );
}
