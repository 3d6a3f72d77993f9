import { totalmem } from 'node:os';
import { hourMs } from '#rules/clock/durations.ts';
import type { Reading } from '#rules/quality/reading.ts';
import type { Clock } from '../ports/edge.ts';
import type { Loss } from '../ports/hub-adapters.ts';
import type { OutboxItem } from '../ports/store.ts';
import type { OutboxLimit } from './outbox-table.ts';

/** What the store has to tell a person; the closed list from which the hub makes log lines and alarms. */
type StoreFaultKind =
  | 'flush_failed'
  | 'flush_recovered'
  | 'readings_dropped'
  | 'reading_refused'
  | 'outbox_dropped'
  | 'mirror_failed'
  | 'damaged'
  | 'entry_unreadable'
  | 'log_damaged'
  | 'document_damaged'
  | 'unsaved'
  | 'saved_again'
  | 'files_gone';

/** Told once at the start of a run of equal faults, with counts when it ends. */
export type StoreFault = {
  kind: StoreFaultKind;
  detail: string;
  lost?: readonly Loss[];
  /** The damaged file was a backup that somebody had put in the place of the store. */
  wasBackup?: boolean;
};

export type StoreOptions = {
  path: string;
  /** Time between flushes, ms. It weighs the wear of the card against what a power cut costs. */
  flushMs: number;
  clock: Clock;
  /** A folder in memory that outlives this process, for the readings that wait for a flush; without it they lie beside the store. */
  unflushedFolder?: string | undefined;
  /** After each flush that is on disk: how many readings it stored. */
  onFlushed?: (stored: number) => void;
  /** Never called from inside a call of the store, nor after it was closed: the listener may use the store. */
  onFault?: (fault: StoreFault) => void;
  /** What to deliver about the readings of a flush; stored in the same transaction as they are. */
  mirrorBatch?: (readings: readonly Reading[]) => OutboxItem | undefined;
  /** So many waiting readings bring the flush forward. */
  flushEarlyAt?: number;
  /** The most readings held in memory while the disk refuses them; beyond it the oldest are dropped and counted. */
  bufferLimit?: number;
  /** The least time between two packings of readings into blocks, ms. */
  packMs?: number;
  /** So many readings in the log bring the packing forward, and with it what is held in memory is bounded. */
  packAtReadings?: number;
  /**
   * A packing goes in steps with so long a pause between them, ms: of a large room it takes seconds, in which nothing is heard.
   * 0 packs in one go within the flush, for who has no turns to wait for.
   */
  packPauseMs?: number;
  /** About so long is such a step, ms; it packs one series at least. */
  packStepMs?: number;
  outboxLimit?: OutboxLimit;
  /** A store that lives in memory tries its disk again so often, ms. */
  tryDiskEveryMs?: number;
  /** A file larger than this is not taken into memory where nothing can be saved, bytes. */
  mostInMemoryBytes?: number;
};

/** Every setting with its value. A day without a receiver at ten readings a second is some 60 MB of line protocol. */
export function withDefaults(options: StoreOptions) {
  return {
    onFlushed: () => {},
    onFault: () => {},
    mirrorBatch: () => undefined,
    flushEarlyAt: 10_000,
    bufferLimit: 100_000,
    packMs: hourMs,
    packAtReadings: 250_000,
    packPauseMs: 0,
    packStepMs: 8,
    tryDiskEveryMs: 15_000,
    // The file and its copy are in memory together for a moment.
    mostInMemoryBytes: totalmem() / 4,
    outboxLimit: { items: 100_000, bytes: 512 * 1024 * 1024 },
    unflushedFolder: undefined,
    ...options,
  } satisfies Required<StoreOptions>;
}

export type StoreSettings = ReturnType<typeof withDefaults>;
