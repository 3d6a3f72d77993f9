import type Database from 'better-sqlite3';
import type { Resolution as AnyResolution, KeptReading } from '../ports/store.ts';
import { readingCheck, rowCheck } from './row-check.ts';
import { flagFromNumber, intervalMs, startOf, type Tally } from './tally.ts';

/** A store of schema 1 had no days. */
type Resolution = Exclude<AnyResolution, 'day'>;

type ReadingRow = { time_ms: number; value: number; flag: number };
export type StoredReading = ReadingRow & { series_id: number };

/** A reading taken out of its row, with the check that its cells give. */
export type TakenReading = { seriesId: number; reading: KeptReading; check: number };

export type SummaryRow = {
  start_ms: number;
  count: number;
  failed: number;
  min: number | null;
  max: number | null;
  sum: number;
  worst: number;
};

/** The check of a summary row over its cells in the order of the table. */
export function summaryCheck(seriesId: number, row: SummaryRow): number {
  return rowCheck(seriesId, row.start_ms, row.count, row.failed, row.min, row.max, row.sum, row.worst);
}

const tables: Record<Resolution, string> = { minute: 'summaries_minute', hour: 'summaries_hour' };

/**
 * The rows of a store of schema 1: a row for each reading and for each summary. They stay readable where they are until they
 * have moved into blocks, a small step at a time; then this is empty and asks the file no more.
 */
export function oldRows(db: Database.Database) {
  const range = db.prepare<[number, number, number, number], ReadingRow>(
    `SELECT time_ms, value, flag FROM readings
      WHERE time_ms >= ? AND time_ms < ? AND series_id = ? ORDER BY time_ms LIMIT ?`,
  );
  const one = db.prepare<[number, number], { found: 1 }>(
    'SELECT 1 AS found FROM readings WHERE time_ms = ? AND series_id = ?',
  );
  const everything = db.prepare<[number, number], StoredReading>(
    `SELECT time_ms, series_id, value, flag FROM readings
      WHERE time_ms >= ? AND time_ms < ? ORDER BY series_id, time_ms`,
  );
  const firstReading = db.prepare<[], { time_ms: number | null }>('SELECT min(time_ms) AS time_ms FROM readings');
  const newestReading = db.prepare<[], { time_ms: number | null }>('SELECT max(time_ms) AS time_ms FROM readings');
  const lastInHour = db.prepare<[number, number, number], ReadingRow>(
    `SELECT time_ms, value, flag FROM readings
      WHERE time_ms >= ? AND time_ms < ? AND series_id = ? ORDER BY time_ms DESC LIMIT 1`,
  );
  const removeReadings = db.prepare<[number, number]>('DELETE FROM readings WHERE time_ms >= ? AND time_ms < ?');
  const removeBefore = db.prepare<[number]>('DELETE FROM readings WHERE time_ms < ?');
  const hourCheck = db.prepare<[number], { rows: number; sum: number }>(
    'SELECT rows, sum FROM reading_checks WHERE hour_ms = ?',
  );
  const dropCheck = db.prepare<[number]>('DELETE FROM reading_checks WHERE hour_ms = ?');
  const dropChecksBefore = db.prepare<[number]>('DELETE FROM reading_checks WHERE hour_ms < ?');
  const behind = db.prepare<[], { hour_ms: number }>('SELECT hour_ms FROM unsummarised');
  const dropBehind = db.prepare('DELETE FROM unsummarised');
  const summaries = { minute: summariesOf(db, 'minute'), hour: summariesOf(db, 'hour') };

  let hasReadings = true;
  const hasSummaries = { minute: true, hour: true };
  function look(): void {
    hasReadings = firstReading.get()?.time_ms != null;
    for (const resolution of ['minute', 'hour'] as const) {
      hasSummaries[resolution] = summaries[resolution].first() !== undefined;
    }
  }
  look();

  return {
    isEmpty: (): boolean => !hasReadings && !hasSummaries.minute && !hasSummaries.hour,

    /** Looks again what there is; after a transaction that took from it. */
    look,

    range: (seriesId: number, fromMs: number, toMs: number, limit: number): KeptReading[] =>
      hasReadings ? range.all(fromMs, toMs, seriesId, limit).map(keptFromRow) : [],

    has: (seriesId: number, timeMs: number): boolean => hasReadings && one.get(timeMs, seriesId) !== undefined,

    lastInHour(seriesId: number, hourMs: number): KeptReading | undefined {
      const row = hasReadings ? lastInHour.get(hourMs, hourMs + intervalMs.hour, seriesId) : undefined;
      return row && keptFromRow(row);
    },

    firstMs: (): number | undefined => (hasReadings ? (firstReading.get()?.time_ms ?? undefined) : undefined),
    newestMs: (): number | undefined => (hasReadings ? (newestReading.get()?.time_ms ?? undefined) : undefined),

    /**
     * Inside a transaction: takes the readings of an hour out, by series. `check` is what the file says they should be, and
     * missing when their summaries were not written yet.
     */
    takeHour(hourMs: number): { rows: TakenReading[]; check: { rows: number; sum: number } | undefined } {
      if (!hasReadings) return { rows: [], check: undefined };
      const rows = everything.all(hourMs, hourMs + intervalMs.hour).map((row) => ({
        seriesId: row.series_id,
        reading: keptFromRow(row),
        check: readingCheck(row.time_ms, row.series_id, row.value, row.flag),
      }));
      const check = hourCheck.get(hourMs);
      removeReadings.run(hourMs, hourMs + intervalMs.hour);
      dropCheck.run(hourMs);
      return { rows, check };
    },

    /** Inside a transaction. The hours whose summaries a stop left behind; they are forgotten with this. */
    takeHoursBehind(): number[] {
      const hours = behind.all().map((row) => row.hour_ms);
      dropBehind.run();
      return hours;
    },

    /** Inside a transaction. Gives how many readings went. */
    removeBefore(timeMs: number): number {
      if (!hasReadings) return 0;
      dropChecksBefore.run(startOf(timeMs, 'hour'));
      return removeBefore.run(timeMs).changes;
    },

    summaries(seriesId: number, resolution: Resolution, fromMs: number, toMs: number): [number, Tally][] {
      return hasSummaries[resolution] ? summaries[resolution].range(seriesId, fromMs, toMs) : [];
    },

    lastHourMs: (seriesId: number): number | undefined =>
      hasSummaries.hour ? summaries.hour.lastOf(seriesId) : undefined,

    /** Inside a transaction: takes summaries out; those that have changed on disk are counted and left out. */
    takeSummaries(
      seriesId: number,
      resolution: Resolution,
      fromMs: number,
      toMs: number,
    ): { tallies: [number, Tally][]; changed: number } {
      const rows = summaries[resolution].checked(seriesId, fromMs, toMs);
      summaries[resolution].remove(seriesId, fromMs, toMs);
      const good = rows.filter((row) => summaryCheck(seriesId, row) === row.row_check);
      return {
        tallies: good.map((row) => [row.start_ms, tallyFromRow(row)]),
        changed: rows.length - good.length,
      };
    },

    firstSummary: (resolution: Resolution): { seriesId: number; startMs: number } | undefined =>
      hasSummaries[resolution] ? summaries[resolution].first() : undefined,

    /** Inside a transaction. */
    removeSummaries(seriesId: number, resolution: Resolution, fromMs: number, toMs: number): void {
      if (hasSummaries[resolution]) summaries[resolution].remove(seriesId, fromMs, toMs);
    },
  };
}

export type OldRows = ReturnType<typeof oldRows>;

function keptFromRow(row: ReadingRow): KeptReading {
  return { timeMs: row.time_ms, value: row.value, flag: flagFromNumber(row.flag) };
}

function summariesOf(db: Database.Database, resolution: Resolution) {
  const table = tables[resolution];
  const range = db.prepare<[number, number, number], SummaryRow & { row_check: number }>(
    `SELECT start_ms, count, failed, min, max, sum, worst, row_check FROM ${table}
      WHERE series_id = ? AND start_ms >= ? AND start_ms < ? ORDER BY start_ms`,
  );
  const first = db.prepare<[], { seriesId: number; startMs: number }>(
    `SELECT series_id AS seriesId, start_ms AS startMs FROM ${table} ORDER BY series_id, start_ms LIMIT 1`,
  );
  const last = db.prepare<[number], { start_ms: number | null }>(
    `SELECT max(start_ms) AS start_ms FROM ${table} WHERE series_id = ?`,
  );
  const remove = db.prepare<[number, number, number]>(
    `DELETE FROM ${table} WHERE series_id = ? AND start_ms >= ? AND start_ms < ?`,
  );
  return {
    checked: (seriesId: number, fromMs: number, toMs: number): (SummaryRow & { row_check: number })[] =>
      range.all(seriesId, fromMs, toMs),
    range: (seriesId: number, fromMs: number, toMs: number): [number, Tally][] =>
      range.all(seriesId, fromMs, toMs).map((row) => [row.start_ms, tallyFromRow(row)]),
    first: (): { seriesId: number; startMs: number } | undefined => first.get(),
    lastOf: (seriesId: number): number | undefined => last.get(seriesId)?.start_ms ?? undefined,
    remove: (seriesId: number, fromMs: number, toMs: number): void => {
      remove.run(seriesId, fromMs, toMs);
    },
  };
}

function tallyFromRow({ count, failed, min, max, sum, worst }: SummaryRow): Tally {
  return { count, failed, sum, worst, min: min ?? Number.POSITIVE_INFINITY, max: max ?? Number.NEGATIVE_INFINITY };
}
