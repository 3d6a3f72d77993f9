import type Database from 'better-sqlite3';
import type { KeptReading } from '../ports/store.ts';
import { blockKinds, readingBlocks, setAside, spanMs, spanStart } from './block-table.ts';
import type { StoreFault } from './store-options.ts';
import { intervalMs } from './tally.ts';
import { positionOf } from './write-buffer.ts';

function byTime(one: KeptReading, other: KeptReading): number {
  return one.timeMs - other.timeMs;
}

export function newerOf(one: KeptReading | undefined, other: KeptReading | undefined): KeptReading | undefined {
  if (one === undefined || other === undefined) return one ?? other;
  return other.timeMs > one.timeMs ? other : one;
}

/** Those of [fromMs, toMs) of readings that are oldest first. */
function within(readings: readonly KeptReading[], fromMs: number, toMs: number): readonly KeptReading[] {
  return readings.slice(positionOf(readings, fromMs), positionOf(readings, toMs));
}

/** The raw readings that are packed into blocks. */
export function packedReadings(db: Database.Database, onFault: (fault: StoreFault) => void) {
  const blocks = readingBlocks(db, onFault);
  const newestBlock = db.prepare<[], { start_ms: number }>(
    `SELECT start_ms FROM blocks WHERE kind = ${blockKinds.readings} ORDER BY start_ms DESC LIMIT 1`,
  );
  const seriesAt = db.prepare<[number], { series_id: number }>(
    `SELECT series_id FROM blocks WHERE kind = ${blockKinds.readings} AND start_ms = ?`,
  );
  const goingKinds = `kind IN (${blockKinds.readings}, ${blockKinds.readings + setAside})`;
  const countGoing = db.prepare<[number], { going: number }>(
    `SELECT coalesce(sum(count), 0) AS going FROM blocks WHERE kind = ${blockKinds.readings} AND start_ms < ?`,
  );
  const removeBlocks = db.prepare<[number]>(`DELETE FROM blocks WHERE ${goingKinds} AND start_ms < ?`);
  const removeChecks = db.prepare<[number]>(
    `DELETE FROM block_checks WHERE kind = ${blockKinds.readings} AND start_ms < ?`,
  );

  /**
   * The last time in the block of each series that was asked for or written last. Probes speak in order, and a later reading needs no
   * look into the block: in a flood that would be opened for each of them.
   */
  const ends = new Map<number, { startMs: number; lastMs: number }>();

  function endsBefore(seriesId: number, startMs: number, timeMs: number): boolean {
    let end = ends.get(seriesId);
    if (end?.startMs !== startMs) {
      end = { startMs, lastMs: blocks.at(seriesId, startMs)?.at(-1)?.timeMs ?? Number.NEGATIVE_INFINITY };
      ends.set(seriesId, end);
    }
    return end.lastMs < timeMs;
  }

  const packed = {
    /** Inside a transaction: adds readings of times that the series has no reading of. */
    merge(seriesId: number, readings: readonly KeptReading[]): void {
      for (const startMs of new Set(readings.map(({ timeMs }) => spanStart(timeMs, 'readings')))) {
        const before = blocks.at(seriesId, startMs) ?? [];
        const added = readings.filter(({ timeMs }) => spanStart(timeMs, 'readings') === startMs);
        const all = [...before, ...added].sort(byTime);
        blocks.put(seriesId, startMs, all.length, all);
        ends.set(seriesId, { startMs, lastMs: all.at(-1)!.timeMs });
      }
    },

    /** Inside a transaction: another value and flag for readings that are there, all of one span. */
    replace(seriesId: number, changed: ReadonlyMap<number, KeptReading>): void {
      const first = changed.keys().next().value;
      if (first === undefined) return;
      const startMs = spanStart(first, 'readings');
      const all = (blocks.at(seriesId, startMs) ?? []).map((reading) => changed.get(reading.timeMs) ?? reading);
      blocks.put(seriesId, startMs, all.length, all);
    },

    has(seriesId: number, timeMs: number): boolean {
      const startMs = spanStart(timeMs, 'readings');
      if (endsBefore(seriesId, startMs, timeMs)) return false;
      const readings = blocks.at(seriesId, startMs) ?? [];
      return readings[positionOf(readings, timeMs)]?.timeMs === timeMs;
    },

    /** Oldest first, [fromMs, toMs), at most `limit` from the old end. */
    range(seriesId: number, fromMs: number, toMs: number, limit: number): KeptReading[] {
      const found: KeptReading[] = [];
      for (const block of blocks.range(seriesId, fromMs, toMs)) {
        for (const reading of within(block, fromMs, toMs)) found.push(reading);
        if (found.length >= limit) break;
      }
      return found.slice(0, limit);
    },

    /** All of a series, a block at a time, oldest first. */
    blocks: (seriesId: number): Iterable<readonly KeptReading[]> =>
      blocks.range(seriesId, Number.MIN_SAFE_INTEGER + spanMs.readings, Number.MAX_SAFE_INTEGER),

    /** An hour of one series, by way of what was read last. */
    ofHour(seriesId: number, hourMs: number): readonly KeptReading[] {
      return within(blocks.at(seriesId, spanStart(hourMs, 'readings')) ?? [], hourMs, hourMs + intervalMs.hour);
    },

    lastInHour(seriesId: number, hourMs: number): KeptReading | undefined {
      return packed.ofHour(seriesId, hourMs).at(-1);
    },

    newestMs(): number | undefined {
      const startMs = newestBlock.get()?.start_ms;
      if (startMs === undefined) return undefined;
      // Where a block of that span cannot be read, its end: what is asked is from when on nothing is known.
      const endMs = startMs + spanMs.readings - 1;
      const ids = seriesAt.all(startMs).map(({ series_id }) => series_id);
      return Math.max(...ids.map((seriesId) => blocks.at(seriesId, startMs)?.at(-1)?.timeMs ?? endMs));
    },

    /** Inside a transaction. Gives how many readings went. */
    removeBefore(timeMs: number): number {
      const startMs = spanStart(timeMs, 'readings');
      let gone = countGoing.get(startMs)!.going;
      removeBlocks.run(startMs);
      removeChecks.run(startMs);
      for (const { series_id } of seriesAt.all(startMs)) {
        const before = blocks.at(series_id, startMs);
        if (before === undefined) continue;
        const rest = within(before, timeMs, Number.MAX_SAFE_INTEGER);
        if (rest.length === before.length) continue;
        gone += before.length - rest.length;
        blocks.put(series_id, startMs, rest.length, rest);
      }
      packed.forget();
      return gone;
    },

    /** After a transaction that was rolled back. */
    forget(): void {
      blocks.forget();
      ends.clear();
    },
  };
  return packed;
}

export type PackedReadings = ReturnType<typeof packedReadings>;
