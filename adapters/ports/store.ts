import type { Flag, Reading, Series } from '#rules/quality/reading.ts';

/** One interval of a series, in the metric's store unit. Intervals without a reading have no row. */
export type Summary = {
  startMs: number;
  count: number;
  min: number;
  mean: number;
  max: number;
  worst: Flag;
};

/** A day here is one of UTC: for a curve of years, not for a keeper's day. */
export type Resolution = 'minute' | 'hour' | 'day';

/** A value as kept: a failed reading keeps its raw number, a missing one has none and is not kept. */
export type KeptReading = { timeMs: number; value: number; flag: Flag };

export const journalKinds = [
  'test',
  'dose',
  'water_change',
  'calibration',
  'arrival',
  'piece',
  'batch',
  'kit',
  'light',
  'alarm',
  'advice',
  'plan',
  'refill',
  'note',
] as const;

export type JournalKind = (typeof journalKinds)[number];

/**
 * An entry of the append-only journal. A correction is a new entry that names the old one in `corrects`; `isWithdrawn`
 * in such an entry takes the old one back. `key` makes a repeated submission (a phone that sends twice) one entry.
 */
export type JournalEntry = {
  kind: JournalKind;
  /** When it happened. */
  timeMs: number;
  /** When the hub learned of it. */
  recordedMs: number;
  system: string;
  body: Record<string, unknown>;
  corrects?: number;
  isWithdrawn?: boolean;
  key?: string;
};

export type KeptEntry = JournalEntry & { id: number };

/** Something to deliver, stored with the fact that caused it. Items of one destination go out in order of `id`. */
export type OutboxItem = {
  /** The name of whoever it is for. */
  destination: string;
  /** Receivers drop repeats by it; a second item with the same key for the same destination is not stored. */
  key: string;
  payload: string;
};

export type KeptOutboxItem = OutboxItem & { id: number; createdMs: number };

/** What belongs together: all of it is on disk (fsync) when `commit` returns, or none of it is. */
export type Commit = {
  entries?: JournalEntry[];
  outbox?: OutboxItem[];
  /** Named documents replaced whole, e.g. the state of the rules. */
  documents?: { name: string; body: string }[];
};

/**
 * What a stored reading becomes; undefined leaves it as it is. The value is finite, in the metric's store unit. It must not
 * use the store.
 */
export type RewriteChange = (
  timeMs: number,
  value: number,
  flag: Flag,
) => { value: number; flag: Exclude<Flag, 'missing'> } | undefined;

export type JournalQuery = {
  /** The one entry of this id, or that was kept under this key. */
  id?: number;
  key?: string;
  kind?: JournalKind;
  system?: string;
  fromMs?: number;
  /** Exclusive. */
  toMs?: number;
  /** Only what was put into the journal after the entry with this id. */
  afterId?: number;
  /** By time of happening; oldest first unless `newest`. Corrected and withdrawn entries are left out unless `history`. */
  order?: 'oldest' | 'newest';
  limit?: number;
  history?: boolean;
};

export type Store = {
  /** Takes readings into the write buffer; they are on disk after the next flush (`flush_seconds`) or `flush()`. */
  add(readings: readonly Reading[]): void;
  flush(): void;
  /** Durable at return. Gives the ids of the entries, in order (of the older entry for a repeated `key`). */
  commit(commit: Commit): number[];
  /** Replaces documents in the transaction of the next flush: `document` gives them at once, a power cut may take them back. */
  keepSoon(documents: NonNullable<Commit['documents']>): void;

  series(): Series[];
  /** Includes what is still in the buffer. */
  latest(series: Series): KeptReading | undefined;
  /** Oldest first, [fromMs, toMs). Includes the buffer. At most `limit` rows, from the old end. */
  readings(series: Series, fromMs: number, toMs: number, limit?: number): KeptReading[];
  summaries(series: Series, resolution: Resolution, fromMs: number, toMs: number): Summary[];
  /** @param read  what is made of each entry; one of which it makes nothing is left out and reported, once */
  journal<Read = KeptEntry>(query: JournalQuery, read?: (entry: KeptEntry) => Read | undefined): Read[];
  document(name: string): string | undefined;

  outbox(destination: string, limit: number): KeptOutboxItem[];
  /** These are delivered and leave the outbox. A kill of the process does not bring them back; a power cut may. */
  acknowledge(ids: readonly number[]): void;
  /** Sets an item aside that cannot be delivered now or ever, with its reason. */
  park(id: number, reason: string): void;
  /** What was set aside, oldest first. */
  parked(destination: string, limit: number): (KeptOutboxItem & { reason: string })[];
  /** These wait again, in the order of their ids. */
  unpark(ids: readonly number[]): void;
  outboxDepth(destination: string): {
    waiting: number;
    parked: number;
    dropped: number;
    oldestMs?: number;
  };

  /**
   * Changes the raw readings of a series in [fromMs, toMs), oldest first, and rebuilds their summaries; gives how many have
   * another value or flag now. Each hour of the record is a transaction; `together` gives what is stored in the same
   * one, with the time up to which the change is then done, and in the last with `toMs`.
   *
   * Is: after a kill every hour is whole, before or after the change, its summaries agree with its readings, and what
   * `together` stored says up to where; the mirror is told of changed readings.
   * Is not: one transaction over all hours; able to add or remove a reading, or to reach those deleted by age; able to take
   * a point of another flag out of the mirror, which keeps both.
   */
  rewrite(
    series: Series,
    fromMs: number,
    toMs: number,
    change: RewriteChange,
    together?: (reachedMs: number) => Commit,
  ): number;

  /** Deletes raw readings older than this; summaries stay for good. */
  dropReadingsBefore(timeMs: number): number;
  /** A consistent copy into one file while running; the copy is opened and checked before this resolves. */
  backup(path: string): Promise<void>;
  /** Set when the last process did not close the store properly: what may be lost, in a sentence. */
  readonly uncleanStop: string | undefined;
  /** Set when nothing reaches a disk and the store lives in memory alone: why, in a sentence with what to do. */
  readonly whyUnsaved?: string | undefined;
  close(): void;
};
