import { createInterface } from 'node:readline';
import type { Readable, Writable } from 'node:stream';

/** Where a person sits. */
export type Talk = {
  input: Readable;
  output: Writable;
  /** A line for the person. */
  print(line: string): void;
};

/** Asks a person, or answers for one who is not there. */
export type Questions = {
  /** @throws NoAnswer  when there is none: nobody is asked, or the input ended, and nothing stands for it */
  ask<T>(question: string, parse: (text: string) => T | undefined, help: string, otherwise?: string): Promise<T>;
  confirm(question: string, otherwise: boolean): Promise<boolean>;
  end(): void;
};

export class NoAnswer extends Error {
  override readonly name = 'NoAnswer';
}

const mostTries = 5;

export function createQuestions(terminal: Talk, isUnattended: boolean): Questions {
  const lines = isUnattended ? undefined : createInterface({ input: terminal.input, crlfDelay: 200 });
  const waiting = lines?.[Symbol.asyncIterator]();

  /** The next line; undefined when nobody is there to write one. */
  async function next(prompt: string): Promise<string | undefined> {
    if (waiting === undefined) return undefined;
    terminal.output.write(prompt);
    const { value, done } = await waiting.next();
    return done === true ? undefined : String(value).trim();
  }

  async function ask<T>(
    question: string,
    parse: (text: string) => T | undefined,
    help: string,
    otherwise?: string,
  ): Promise<T> {
    for (let tries = 0; tries < mostTries; tries += 1) {
      const line = await next(`${question}${otherwise === undefined ? '' : ` [${otherwise}]`}: `);
      const text = line === undefined || line === '' ? otherwise : line;
      if (text === undefined && line === undefined) break;
      const answer = text === undefined ? undefined : parse(text);
      if (answer !== undefined) return answer;
      if (line === undefined) break;
      terminal.print(`  found "${line}", need ${help}`);
    }
    throw new NoAnswer(`${question}: no answer; need ${help}`);
  }

  return {
    ask,
    confirm: (question, otherwise) =>
      ask(
        question,
        (text) => (/^y(es)?$/i.test(text) ? true : /^no?$/i.test(text) ? false : undefined),
        'yes or no',
        otherwise ? 'yes' : 'no',
      ),
    end: () => lines?.close(),
  };
}
