import type Database from 'better-sqlite3';
import type { KeptReading } from '../ports/store.ts';
import { endOfLog, isCommit, type LogRow, logCheck } from './flush-log.ts';
import { streamsFromBytes, streamsToBytes } from './reading-codec.ts';
import { ReadingColumn } from './reading-column.ts';
import type { StoreFault } from './store-options.ts';

/**
 * The readings of the last hours, on disk as a log with one small row for each flush, and in memory to be asked for. A flush
 * so touches one page of the file however many streams there are. They wait here until they are packed into blocks.
 *
 * What is in memory is what is in the log: each change of the log has its counterpart here, to be called when the
 * transaction is through.
 */
export function recentReadings(db: Database.Database, onFault: (fault: StoreFault) => void) {
  const rows = db.prepare<[], LogRow>('SELECT id, body, row_check FROM flush_log ORDER BY id');
  const log = endOfLog(db);
  const removeAll = db.prepare('DELETE FROM flush_log');

  const streams = new Map<number, ReadingColumn>();
  let size = 0;
  let oldestMs = Number.MAX_SAFE_INTEGER;
  let newestMs = Number.MIN_SAFE_INTEGER;

  function add(seriesId: number, reading: KeptReading): void {
    let readings = streams.get(seriesId);
    if (readings === undefined) {
      readings = new ReadingColumn();
      streams.set(seriesId, readings);
    }
    if (!readings.add(reading)) return;
    size += 1;
    oldestMs = Math.min(oldestMs, reading.timeMs);
    newestMs = Math.max(newestMs, reading.timeMs);
  }

  /** Inside a transaction. */
  function append(added: Iterable<readonly [number, readonly KeptReading[]]>): void {
    log.append(streamsToBytes(added));
  }

  function load(): void {
    for (const row of rows.all()) {
      try {
        if (logCheck(row) !== row.row_check) throw new RangeError('another checksum');
        if (isCommit(row)) continue;
        for (const [seriesId, readings] of streamsFromBytes(row.body)) {
          for (const reading of readings) add(seriesId, reading);
        }
      } catch {
        onFault({ kind: 'damaged', detail: `Flush ${row.id} of the last hours has changed on disk and is left out.` });
      }
    }
  }
  load();

  const recent = {
    get size(): number {
      return size;
    },
    get oldestMs(): number {
      return oldestMs;
    },
    get newestMs(): number {
      return newestMs;
    },

    append,

    add(added: Iterable<readonly [number, readonly KeptReading[]]>): void {
      for (const [seriesId, readings] of added) for (const reading of readings) add(seriesId, reading);
    },

    /** [fromMs, toMs), oldest first. */
    of: (seriesId: number, fromMs: number, toMs: number): KeptReading[] =>
      streams.get(seriesId)?.of(fromMs, toMs) ?? [],

    has: (seriesId: number, timeMs: number): boolean => streams.get(seriesId)?.has(timeMs) ?? false,

    last: (seriesId: number): KeptReading | undefined => streams.get(seriesId)?.last(),

    /** All that is older than `beforeMs`, one series after the other: all at once as objects would be most of the memory. */
    *before(beforeMs: number): Generator<[number, KeptReading[]]> {
      for (const [seriesId, column] of streams) {
        const readings = column.of(Number.MIN_SAFE_INTEGER, beforeMs);
        if (readings.length > 0) yield [seriesId, readings];
      }
    },

    /** The series that have readings older than this. */
    seriesBefore: (beforeMs: number): number[] =>
      [...streams]
        .filter(([, column]) => (column.first()?.timeMs ?? beforeMs) < beforeMs)
        .map(([seriesId]) => seriesId),

    /** What these series have in memory from now on; the log still has all, and must not be read for it again. */
    replace(rests: Iterable<readonly [number, readonly KeptReading[]]>): void {
      const kept = [...rests];
      for (const [seriesId] of kept) streams.delete(seriesId);
      size = 0;
      oldestMs = Number.MAX_SAFE_INTEGER;
      newestMs = Number.MIN_SAFE_INTEGER;
      for (const column of streams.values()) {
        size += column.length;
        oldestMs = Math.min(oldestMs, column.first()!.timeMs);
        newestMs = Math.max(newestMs, column.last()!.timeMs);
      }
      recent.add(kept);
    },

    /** Inside a transaction: the log keeps what is not older than this. `forgetBefore` follows when it is through. */
    removeBefore(beforeMs: number): void {
      removeAll.run();
      const rest = [...streams.keys()].map(
        (seriesId) => [seriesId, recent.of(seriesId, beforeMs, Number.MAX_SAFE_INTEGER)] as const,
      );
      if (rest.some(([, readings]) => readings.length > 0)) append(rest);
    },

    forgetBefore(beforeMs: number): void {
      const rest = [...streams].map(
        ([seriesId]) => [seriesId, recent.of(seriesId, beforeMs, Number.MAX_SAFE_INTEGER)] as const,
      );
      streams.clear();
      size = 0;
      oldestMs = Number.MAX_SAFE_INTEGER;
      newestMs = Number.MIN_SAFE_INTEGER;
      recent.add(rest);
    },
  };
  return recent;
}

export type RecentReadings = ReturnType<typeof recentReadings>;
