import { OutOfRange } from '#rules/quantity/out-of-range.ts';
import { notNumber } from '../../model/refusals/number-words.ts';
import { Refused } from '../../model/refusals/refused.ts';

/** A value that a case gives: numbers are parsed, words (such as a boron option) are kept as text. */
export type Given = {
  /** The number under this name. @throws Refused when it is absent, empty or not a number */
  number(name: string): number;
  optionalNumber(name: string): number | undefined;
  /** The word under this name, one of those allowed. @throws Refused for another word */
  word<Word extends string>(name: string, allowed: readonly Word[], otherwise?: Word): Word;
  has(name: string): boolean;
};

export type CaseInput = { name: string; help: string };

/** A calculation that answers one case from flags, or each row of a table. */
export type Calculation = {
  name: string;
  summary: string;
  inputs: CaseInput[];
  results: string[];
  /** @throws Refused or OutOfRange when there is no answer */
  compute(given: Given): Record<string, number | string>;
};

/** As people and spreadsheets write numbers; `Number` alone would also take 0x19. */
const decimalNumber = /^[+-]?(\d+\.?\d*|\.\d+)(e[+-]?\d+)?$/i;

/** Reads the cells of one case. An empty cell counts as not given. */
export function givenFrom(cells: Readonly<Record<string, string | undefined>>): Given {
  const cell = (name: string): string | undefined => {
    const text = Object.hasOwn(cells, name) ? cells[name]?.trim() : undefined;
    return text === '' ? undefined : text;
  };
  const optionalNumber = (name: string): number | undefined => {
    const text = cell(name);
    if (text === undefined) return undefined;
    const value = decimalNumber.test(text) ? Number(text) : Number.NaN;
    if (!Number.isFinite(value)) throw new Refused('no_answer', notNumber(name, text));
    return value;
  };
  return {
    optionalNumber,
    number(name) {
      const value = optionalNumber(name);
      if (value === undefined) throw new Refused('no_answer', `${name}: missing`);
      return value;
    },
    word(name, allowed, otherwise) {
      const text = cell(name) ?? otherwise;
      const word = allowed.find((each) => each === text);
      if (word === undefined) {
        throw new Refused(
          'no_answer',
          `${name}: ${text === undefined ? 'missing' : `found "${text.slice(0, 40)}"`}, allowed: ${allowed.join(', ')}`,
        );
      }
      return word;
    },
    has: (name) => cell(name) !== undefined,
  };
}

/** Twelve digits: more than any formula here deserves, and no binary noise at the end. */
export function resultText(value: number | string | undefined): string {
  if (value === undefined) return '';
  return typeof value === 'number' ? String(Number(value.toPrecision(12))) : value;
}

/** What an answer says, or the reason when one case has none; a fault of ours is not one and goes up. */
export function answerOrWhy<Answer>(answer: () => Answer): { results: Answer } | { why: string } {
  try {
    return { results: answer() };
  } catch (error) {
    if (error instanceof OutOfRange || error instanceof Refused) return { why: error.message };
    throw error;
  }
}
