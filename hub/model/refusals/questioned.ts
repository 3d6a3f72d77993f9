import { Refused } from './refused.ts';

/**
 * What a person is asked about an entry that looks like a slip. Whoever asks offers first what was most likely meant, and
 * only then the number as it was typed.
 */
export type EntryDoubt = {
  ask: string;
  /** As it was typed, with its unit: `145 dKH`. */
  typed: string;
  /** `say` is it with its unit, `change` what becomes of the fields of the entry. */
  meant?: { say: string; change: Record<string, number | string> };
};

/** The refusal that asks: nothing is kept before the answer. */
export class Questioned extends Refused {
  readonly doubt: EntryDoubt;

  constructor(doubt: EntryDoubt) {
    super('questioned', doubt.ask);
    this.doubt = doubt;
  }
}
