import type Database from 'better-sqlite3';
import { flagNumber } from '#rules/quality/reading.ts';
import type { KeptReading } from '../ports/store.ts';
import { flagFromNumber, intervalMs, startOf } from './tally.ts';

type Row = { time_ms: number; value: number; flag: number };
export type StoredReading = Row & { series_id: number };

function keptFromRow(row: Row): KeptReading {
  return { timeMs: row.time_ms, value: row.value, flag: flagFromNumber(row.flag) };
}

/** Raw readings, keyed by time and series. */
export function readingsTable(db: Database.Database) {
  const insert = db.prepare<[number, number, number, number]>(
    'INSERT OR IGNORE INTO readings (time_ms, series_id, value, flag) VALUES (?, ?, ?, ?)',
  );
  const one = db.prepare<[number, number], { found: 1 }>(
    'SELECT 1 AS found FROM readings WHERE time_ms = ? AND series_id = ?',
  );
  const range = db.prepare<[number, number, number, number], Row>(
    `SELECT time_ms, value, flag FROM readings
      WHERE time_ms >= ? AND time_ms < ? AND series_id = ? ORDER BY time_ms LIMIT ?`,
  );
  const lastInRange = db.prepare<[number, number, number], Row>(
    `SELECT time_ms, value, flag FROM readings
      WHERE time_ms >= ? AND time_ms < ? AND series_id = ? ORDER BY time_ms DESC LIMIT 1`,
  );
  const newest = db.prepare<[], { time_ms: number | null }>('SELECT max(time_ms) AS time_ms FROM readings');
  const lastHour = db.prepare<[number], { start_ms: number | null }>(
    'SELECT max(start_ms) AS start_ms FROM summaries_hour WHERE series_id = ?',
  );
  const firstUnsummarised = db.prepare<[], { hour_ms: number | null }>(
    'SELECT min(hour_ms) AS hour_ms FROM unsummarised',
  );
  const everything = db.prepare<[number, number], StoredReading>(
    `SELECT time_ms, series_id, value, flag FROM readings
      WHERE time_ms >= ? AND time_ms < ? ORDER BY time_ms, series_id`,
  );
  const replace = db.prepare<[number, number, number, number]>(
    'UPDATE readings SET value = ?, flag = ? WHERE time_ms = ? AND series_id = ?',
  );
  const removeBefore = db.prepare<[number]>('DELETE FROM readings WHERE time_ms < ?');

  return {
    /** False when the series already has a reading of this time; that one stays. */
    insert: (seriesId: number, reading: KeptReading): boolean =>
      insert.run(reading.timeMs, seriesId, reading.value, flagNumber[reading.flag]).changes === 1,

    /** Another value and flag for a reading that is there. */
    replace: (seriesId: number, reading: KeptReading): void => {
      replace.run(reading.value, flagNumber[reading.flag], reading.timeMs, seriesId);
    },

    has: (seriesId: number, timeMs: number): boolean => one.get(timeMs, seriesId) !== undefined,

    range: (seriesId: number, fromMs: number, toMs: number, limit: number): KeptReading[] =>
      range.all(fromMs, toMs, seriesId, limit).map(keptFromRow),

    /**
     * The newest of one series. The key begins with the time, so a stream that has been silent for weeks would cost a
     * walk back over everybody's readings; the hour summaries say in which hour to look.
     */
    last(seriesId: number): KeptReading | undefined {
      const summarised = lastHour.get(seriesId)?.start_ms ?? undefined;
      const since = firstUnsummarised.get()?.hour_ms ?? undefined;
      const unsummarised = since === undefined ? undefined : lastInRange.get(since, Number.MAX_SAFE_INTEGER, seriesId);
      const old =
        summarised === undefined ? undefined : lastInRange.get(summarised, summarised + intervalMs.hour, seriesId);
      const row = !old || (unsummarised && unsummarised.time_ms > old.time_ms) ? unsummarised : old;
      return row && keptFromRow(row);
    },

    newestMs: (): number | undefined => newest.get()?.time_ms ?? undefined,

    /** Every row of one hour, by time. */
    ofHour: (hourMs: number): StoredReading[] => everything.all(hourMs, hourMs + intervalMs.hour),

    /** The rows of the hour in which `timeMs` lies, up to `timeMs`. */
    ofHourBefore: (timeMs: number): StoredReading[] => everything.all(startOf(timeMs, 'hour'), timeMs),

    removeBefore: (timeMs: number): number => removeBefore.run(timeMs).changes,
  };
}

export type ReadingsTable = ReturnType<typeof readingsTable>;
