import type { Series } from '#rules/quality/reading.ts';
import type { KeptEntry, KeptReading, Resolution } from './store.ts';

/**
 * What is known of the readings of one interval. `min`, `max` and `sum` are over the `count` readings that did not fail; with
 * none of them there is no least and no greatest.
 */
export type IntervalTally = {
  startMs: number;
  count: number;
  failed: number;
  min: number | undefined;
  max: number | undefined;
  sum: number;
  /** The worst QARTOD number among them. */
  worst: number;
};

/** A piece of a whole record. Readings and intervals of one series come oldest first. */
export type RecordPart =
  /** Raw readings before this were deleted by age; only summaries tell of them. */
  | { part: 'kept_from'; timeMs: number }
  /** Also corrected and withdrawn ones, by id: bodies and other entries name it. */
  | { part: 'entry'; entry: KeptEntry }
  | { part: 'document'; name: string; body: string }
  | { part: 'readings'; series: Series; readings: readonly KeptReading[] }
  | { part: 'tallies'; series: Series; resolution: Exclude<Resolution, 'day'>; tallies: readonly IntervalTally[] };

/** A store that is being made of parts, beside the place where it will be. */
export type RecordDraft = {
  put(part: RecordPart): void;
  /** It is on disk and in the place of the store at return. @returns where the former store stands, when there was one */
  finish(): string | undefined;
  /** Nothing of it stays. */
  discard(): void;
};

/** The record of a store, taken out whole and put together again. */
export type WholeRecords = {
  /**
   * @param copyPath  a copy of a store, which may be changed
   * @param onDamage  a sentence for each thing that a flipped bit has changed, and that is left out
   * @throws StoreError  as for opening
   */
  read(copyPath: string, onDamage: (sentence: string) => void): Iterable<RecordPart>;
  /** @throws StoreError  where it cannot be written */
  draft(storePath: string): RecordDraft;
};
