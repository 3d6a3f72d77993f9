import { crc32 } from 'node:zlib';
import type Database from 'better-sqlite3';
import { dayMs, hourMs } from '#rules/clock/durations.ts';
import type { KeptReading, Resolution } from '../ports/store.ts';
import { readingsFromBytes, readingsToBytes } from './reading-codec.ts';
import type { StoreFault } from './store-options.ts';
import { intervalMs, type Tally } from './tally.ts';
import { talliesFromBytes, talliesToBytes } from './tally-codec.ts';

/** What a block holds; the number that stands in the file. */
export const blockKinds = { readings: 0, minute: 1, hour: 2, day: 3 } as const;

export type BlockKind = keyof typeof blockKinds;

/**
 * The span of time whose readings or summaries of one series are one block. Shorter ones leave pages half empty, longer
 * ones are longer to read when little is asked.
 */
export const spanMs: Record<BlockKind, number> = {
  readings: 4 * hourMs,
  minute: dayMs,
  hour: 30 * dayMs,
  // As the hours that the days are made of.
  day: 30 * dayMs,
};

/** A block whose bits have changed keeps its place under this much more than its kind: out of the record, but not deleted. */
export const setAside = 100;

export function spanStart(timeMs: number, kind: BlockKind): number {
  return Math.floor(timeMs / spanMs[kind]) * spanMs[kind];
}

export type BlockRow = { kind: number; start_ms: number; series_id: number; count: number; body: Buffer };

/** The check of a block over its place and its content. */
export function blockCheck({ kind, start_ms, series_id, count, body }: BlockRow): number {
  return crc32(body, crc32(JSON.stringify([kind, start_ms, series_id, count])));
}

type Checked = BlockRow & { row_check: number };

/**
 * Blocks: all readings or summaries that one series has in a span of time, as one compressed value with a checksum. Beside
 * them stands, for each span, how many blocks it has and the sum of their checksums: a block that has vanished shows.
 *
 * A block that differs from what was written is left out of every answer and reported; the others are not touched by it.
 */
function blockTable<Content>(
  db: Database.Database,
  kind: BlockKind,
  onFault: (fault: StoreFault) => void,
  codec: { toBytes(startMs: number, content: Content): Buffer; fromBytes(startMs: number, bytes: Buffer): Content },
) {
  const code = blockKinds[kind];
  const range = db.prepare<[number, number, number], Checked>(
    `SELECT * FROM blocks WHERE kind = ${code} AND start_ms > ? AND start_ms < ? AND series_id = ? ORDER BY start_ms`,
  );
  const countOf = db.prepare<[number, number, number], { found: number }>(
    `SELECT count(*) AS found FROM blocks WHERE kind = ${code} AND start_ms > ? AND start_ms < ? AND series_id = ?`,
  );
  const one = db.prepare<[number, number], Checked>(
    `SELECT * FROM blocks WHERE kind = ${code} AND start_ms = ? AND series_id = ?`,
  );
  const newestOf = db.prepare<[number], Checked>(
    `SELECT * FROM blocks WHERE kind = ${code} AND series_id = ? ORDER BY start_ms DESC`,
  );
  const insert = db.prepare<[number, number, number, Buffer, number]>(
    `INSERT OR REPLACE INTO blocks (kind, start_ms, series_id, count, body, row_check) VALUES (${code}, ?, ?, ?, ?, ?)`,
  );
  const remove = db.prepare<[number, number]>(
    `DELETE FROM blocks WHERE kind = ${code} AND start_ms = ? AND series_id = ?`,
  );
  const moveAside = db.prepare<[number, number]>(
    `UPDATE OR REPLACE blocks SET kind = kind + ${setAside} WHERE kind = ${code} AND start_ms = ? AND series_id = ?`,
  );
  const addCheck = db.prepare<[number, number, number]>(
    `INSERT INTO block_checks (kind, start_ms, blocks, sum) VALUES (${code}, ?, ?, ?)
      ON CONFLICT DO UPDATE SET blocks = blocks + excluded.blocks, sum = sum + excluded.sum`,
  );

  const reported = new Set<string>();
  // A flood of late readings asks for the same few blocks again and again.
  const recentlyRead = new Map<string, Content>();
  const mostRecent = 16;

  function decoded(row: Checked): Content | undefined {
    try {
      if (blockCheck(row) === row.row_check) return codec.fromBytes(row.start_ms, row.body);
    } catch {
      // Bytes with the right checksum that cannot be read are reported as the others.
    }
    const place = `${row.start_ms}/${row.series_id}`;
    if (!reported.has(place)) {
      reported.add(place);
      const span = { fromMs: row.start_ms, toMs: row.start_ms + spanMs[kind] };
      onFault({
        kind: 'damaged',
        detail: `${blockName(row)} have changed on disk and are left out.`,
        // Summaries are made of readings that may still be there: what is lost with them is a curve of years.
        ...(kind === 'readings' && { lost: [{ what: 'readings', ...span }] }),
      });
    }
    return undefined;
  }

  return {
    /** The blocks of a series that reach into [fromMs, toMs), oldest first. */
    *range(seriesId: number, fromMs: number, toMs: number): Iterable<Content> {
      for (const row of range.iterate(fromMs - spanMs[kind], toMs, seriesId)) {
        const content = decoded(row);
        if (content !== undefined) yield content;
      }
    },

    /** How many of them there are. */
    count: (seriesId: number, fromMs: number, toMs: number): number =>
      countOf.get(fromMs - spanMs[kind], toMs, seriesId)?.found ?? 0,

    /** The blocks of a series, newest first. */
    *newestFirst(seriesId: number): Iterable<Content> {
      for (const row of newestOf.iterate(seriesId)) {
        const content = decoded(row);
        if (content !== undefined) yield content;
      }
    },

    /** The block that starts there; not to be changed. */
    at(seriesId: number, startMs: number): Content | undefined {
      const place = `${startMs}/${seriesId}`;
      const known = recentlyRead.get(place);
      if (known !== undefined) return known;
      const row = one.get(startMs, seriesId);
      const content = row && decoded(row);
      if (content === undefined) return undefined;
      if (recentlyRead.size >= mostRecent) recentlyRead.delete(recentlyRead.keys().next().value!);
      recentlyRead.set(place, content);
      return content;
    },

    /**
     * Inside a transaction: this content in the place of what was there; none for `count` 0. What was there and cannot be
     * read is moved aside.
     */
    put(seriesId: number, startMs: number, count: number, content: Content): void {
      const before = one.get(startMs, seriesId);
      if (before !== undefined) {
        if (blockCheck(before) !== before.row_check) moveAside.run(startMs, seriesId);
        else if (count === 0) remove.run(startMs, seriesId);
        addCheck.run(startMs, -1, -before.row_check);
      }
      // Also when the transaction then fails: what is read again is right.
      recentlyRead.clear();
      if (count === 0) return;
      const body = codec.toBytes(startMs, content);
      const check = blockCheck({ kind: code, start_ms: startMs, series_id: seriesId, count, body });
      insert.run(startMs, seriesId, count, body, check);
      addCheck.run(startMs, 1, check);
    },

    /** After a transaction that was rolled back, and after blocks were removed: what was read in it may not be there. */
    forget: (): void => recentlyRead.clear(),
  };
}

/** In words, for a report. */
export function blockName({ kind, start_ms, series_id }: Omit<BlockRow, 'count' | 'body'>): string {
  const what = kind % setAside === blockKinds.readings ? 'readings' : 'summaries';
  const date = new Date(start_ms);
  // A place with a flipped bit may be no date at all.
  const from = Number.isNaN(date.getTime()) ? `${start_ms}` : date.toISOString();
  return `The ${what} of series ${series_id} from ${from}`;
}

export const readingBlocks = (db: Database.Database, onFault: (fault: StoreFault) => void) =>
  blockTable<readonly KeptReading[]>(db, 'readings', onFault, {
    toBytes: readingsToBytes,
    fromBytes: readingsFromBytes,
  });

export const summaryBlocks = (db: Database.Database, resolution: Resolution, onFault: (fault: StoreFault) => void) =>
  blockTable<readonly (readonly [number, Tally])[]>(db, resolution, onFault, {
    toBytes: (startMs, tallies) => talliesToBytes(startMs, intervalMs[resolution], tallies),
    fromBytes: (startMs, bytes) => talliesFromBytes(startMs, intervalMs[resolution], bytes),
  });

export type SummaryBlocks = ReturnType<typeof summaryBlocks>;
