import type Database from 'better-sqlite3';
import { flagNumber } from '#rules/quality/reading.ts';
import type { KeptReading, Resolution, Summary } from '../ports/store.ts';
import type { ReadingsTable } from './readings-table.ts';
import { readingCheck, rowCheck } from './row-check.ts';
import { emptyTally, flagFromNumber, mergeTally, startOf, summaryFrom, type Tally, tallyReading } from './tally.ts';

export type SummaryRow = {
  start_ms: number;
  count: number;
  failed: number;
  min: number | null;
  max: number | null;
  sum: number;
  worst: number;
};

/** Tallies by series and start of the interval. */
class Tallies {
  readonly #bySeries = new Map<number, Map<number, Tally>>();
  size = 0;

  at(seriesId: number, startMs: number): Tally {
    const ofSeries = this.#bySeries.get(seriesId) ?? new Map<number, Tally>();
    this.#bySeries.set(seriesId, ofSeries);
    const tally = ofSeries.get(startMs) ?? emptyTally();
    if (!ofSeries.has(startMs)) this.size += 1;
    ofSeries.set(startMs, tally);
    return tally;
  }

  of(seriesId: number): Iterable<[number, Tally]> {
    return this.#bySeries.get(seriesId) ?? [];
  }

  *entries(): Iterable<[number, number, Tally]> {
    for (const [seriesId, ofSeries] of this.#bySeries) {
      for (const [startMs, tally] of ofSeries) yield [seriesId, startMs, tally];
    }
  }

  clear(): void {
    this.#bySeries.clear();
    this.size = 0;
  }
}

/** What one flush adds: rows that were really inserted. Counts towards nothing until `taken` says it is on disk. */
export class Batch {
  readonly minutes = new Tallies();
  readonly hourChecks = new Map<number, { rows: number; sum: number }>();

  add(seriesId: number, reading: KeptReading): void {
    tallyReading(this.minutes.at(seriesId, startOf(reading.timeMs, 'minute')), reading);
    addCheck(
      this.hourChecks,
      reading.timeMs,
      readingCheck(reading.timeMs, seriesId, reading.value, flagNumber[reading.flag]),
    );
  }

  addAll(other: Batch): void {
    for (const [seriesId, startMs, tally] of other.minutes.entries()) {
      mergeTally(this.minutes.at(seriesId, startMs), tally);
    }
    for (const [hourMs, check] of other.hourChecks) addCheck(this.hourChecks, hourMs, check.sum, check.rows);
  }

  clear(): void {
    this.minutes.clear();
    this.hourChecks.clear();
  }
}

function addCheck(checks: Batch['hourChecks'], timeMs: number, sum: number, rows = 1): void {
  const hourMs = startOf(timeMs, 'hour');
  const check = checks.get(hourMs) ?? { rows: 0, sum: 0 };
  checks.set(hourMs, { rows: check.rows + rows, sum: check.sum + sum });
}

/**
 * Minute and hour summaries, and the checks of the readings by hour.
 *
 * Readings reach the disk with each flush, their summaries every few minutes: a row for each series and flush would write
 * 20 times as much. What is not written yet waits in memory, and the hours it concerns stand in `unsummarised`, in the
 * same transaction as the readings: after a crash `recover` computes these hours anew from their readings.
 */
export function summaryTable(db: Database.Database, readings: ReadingsTable) {
  const tables = { minute: statementsFor(db, 'summaries_minute'), hour: statementsFor(db, 'summaries_hour') };
  const mark = db.prepare<[number]>('INSERT OR IGNORE INTO unsummarised (hour_ms) VALUES (?)');
  const marks = db.prepare<[], { hour_ms: number }>('SELECT hour_ms FROM unsummarised');
  const unmark = db.prepare('DELETE FROM unsummarised');
  const mergeCheck = db.prepare<[number, number, number]>(
    `INSERT INTO reading_checks (hour_ms, rows, sum) VALUES (?, ?, ?)
      ON CONFLICT DO UPDATE SET rows = rows + excluded.rows, sum = sum + excluded.sum`,
  );
  const dropCheck = db.prepare<[number]>('DELETE FROM reading_checks WHERE hour_ms = ?');
  const dropChecksBefore = db.prepare<[number]>('DELETE FROM reading_checks WHERE hour_ms < ?');

  const pending = new Batch();
  const marked = new Set<number>();

  function write(batch: Batch): void {
    const hours = new Tallies();
    for (const [seriesId, startMs, tally] of batch.minutes.entries()) {
      tables.minute.merge(seriesId, startMs, tally);
      mergeTally(hours.at(seriesId, startOf(startMs, 'hour')), tally);
    }
    for (const [seriesId, startMs, tally] of hours.entries()) tables.hour.merge(seriesId, startMs, tally);
    for (const [hourMs, check] of batch.hourChecks) mergeCheck.run(hourMs, check.rows, check.sum);
  }

  return {
    pendingIntervals: (): number => pending.minutes.size,

    /** Inside the transaction of a flush: notes the hours whose summaries are behind. */
    note(batch: Batch): void {
      for (const hourMs of batch.hourChecks.keys()) if (!marked.has(hourMs)) mark.run(hourMs);
    },

    /** After that transaction. */
    noted(batch: Batch): void {
      for (const hourMs of batch.hourChecks.keys()) marked.add(hourMs);
      pending.addAll(batch);
    },

    /** Inside a transaction: writes what is pending, with a batch on top. */
    save(batch?: Batch): void {
      const all = new Batch();
      all.addAll(pending);
      if (batch) all.addAll(batch);
      write(all);
      unmark.run();
    },

    /** After that transaction. */
    saved(): void {
      pending.clear();
      marked.clear();
    },

    /** Computes anew, from their readings, the hours whose summaries a crash left behind. Gives how many. */
    recover(): number {
      return db
        .transaction(() => {
          const hours = marks.all().map((row) => row.hour_ms);
          for (const hourMs of hours) {
            const batch = new Batch();
            for (const row of readings.ofHour(hourMs)) {
              batch.add(row.series_id, { timeMs: row.time_ms, value: row.value, flag: flagFromNumber(row.flag) });
            }
            tables.minute.removeHour(hourMs);
            tables.hour.removeHour(hourMs);
            dropCheck.run(hourMs);
            write(batch);
          }
          unmark.run();
          return hours.length;
        })
        .immediate();
    },

    /** Inside the transaction that changes readings: the summaries of one series and hour, from all its readings. */
    replaceHour(seriesId: number, hourMs: number, readingsOfHour: readonly KeptReading[]): void {
      tables.minute.removeHourOf(seriesId, hourMs);
      tables.hour.removeHourOf(seriesId, hourMs);
      const batch = new Batch();
      for (const reading of readingsOfHour) batch.add(seriesId, reading);
      // The checks of the hour count all series and follow each reading by themselves.
      batch.hourChecks.clear();
      write(batch);
    },

    /** Inside that transaction: the check of its hour follows a reading. */
    replaceCheck(seriesId: number, before: KeptReading, after: KeptReading): void {
      const checkOf = ({ timeMs, value, flag }: KeptReading) => readingCheck(timeMs, seriesId, value, flagNumber[flag]);
      mergeCheck.run(startOf(after.timeMs, 'hour'), 0, checkOf(after) - checkOf(before));
    },

    /** [fromMs, toMs) by start of the interval; with what is pending and with readings that are not flushed. */
    read(
      seriesId: number | undefined,
      resolution: Resolution,
      fromMs: number,
      toMs: number,
      buffered: Iterable<KeptReading>,
    ): Summary[] {
      const found = new Map<number, Tally>();
      const at = (startMs: number): Tally | undefined => {
        if (startMs < fromMs || startMs >= toMs) return undefined;
        const tally = found.get(startMs) ?? emptyTally();
        found.set(startMs, tally);
        return tally;
      };
      if (seriesId !== undefined) {
        for (const row of tables[resolution].range(seriesId, fromMs, toMs)) {
          found.set(row.start_ms, tallyFromRow(row));
        }
        for (const [startMs, tally] of pending.minutes.of(seriesId)) {
          const into = at(startOf(startMs, resolution));
          if (into) mergeTally(into, tally);
        }
      }
      for (const reading of buffered) {
        const into = at(startOf(reading.timeMs, resolution));
        if (into) tallyReading(into, reading);
      }
      return [...found]
        .sort(([a], [b]) => a - b)
        .map(([startMs, tally]) => summaryFrom(startMs, tally))
        .filter((summary) => summary !== undefined);
    },

    /** Inside the transaction that deletes readings, before it does: their share of the checks goes too. */
    forgetChecksBefore(timeMs: number): void {
      const hourMs = startOf(timeMs, 'hour');
      dropChecksBefore.run(hourMs);
      const going = readings.ofHourBefore(timeMs);
      const sum = going.reduce((all, row) => all + readingCheck(row.time_ms, row.series_id, row.value, row.flag), 0);
      if (going.length > 0) mergeCheck.run(hourMs, -going.length, -sum);
    },
  };
}

export type SummaryTable = ReturnType<typeof summaryTable>;

function tallyFromRow(row: SummaryRow): Tally {
  return { ...row, min: row.min ?? Number.POSITIVE_INFINITY, max: row.max ?? Number.NEGATIVE_INFINITY };
}

/** The check of a summary row over its cells in the order of the table. */
export function summaryCheck(seriesId: number, row: SummaryRow): number {
  return rowCheck(seriesId, row.start_ms, row.count, row.failed, row.min, row.max, row.sum, row.worst);
}

function statementsFor(db: Database.Database, table: 'summaries_minute' | 'summaries_hour') {
  const cells = 'start_ms, count, failed, min, max, sum, worst';
  const one = db.prepare<[number, number], SummaryRow>(
    `SELECT ${cells} FROM ${table} WHERE series_id = ? AND start_ms = ?`,
  );
  const range = db.prepare<[number, number, number], SummaryRow>(
    `SELECT ${cells} FROM ${table} WHERE series_id = ? AND start_ms >= ? AND start_ms < ? ORDER BY start_ms`,
  );
  const put = db.prepare<[number, number, number, number, number | null, number | null, number, number, number]>(
    `INSERT OR REPLACE INTO ${table} (series_id, ${cells}, row_check) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?)`,
  );
  const removeHour = db.prepare<[number, number]>(
    `DELETE FROM ${table} WHERE series_id IN (SELECT id FROM series) AND start_ms >= ? AND start_ms < ?`,
  );
  const removeHourOf = db.prepare<[number, number, number]>(
    `DELETE FROM ${table} WHERE series_id = ? AND start_ms >= ? AND start_ms < ?`,
  );
  return {
    range: (seriesId: number, fromMs: number, toMs: number): SummaryRow[] => range.all(seriesId, fromMs, toMs),
    removeHourOf: (seriesId: number, hourMs: number): void => {
      removeHourOf.run(seriesId, hourMs, hourMs + 3_600_000);
    },
    removeHour: (hourMs: number): void => {
      removeHour.run(hourMs, hourMs + 3_600_000);
    },
    merge(seriesId: number, startMs: number, tally: Tally): void {
      const old = one.get(seriesId, startMs);
      const sum = old ? tallyFromRow(old) : emptyTally();
      mergeTally(sum, tally);
      const row: SummaryRow = {
        ...sum,
        start_ms: startMs,
        min: sum.count === 0 ? null : sum.min,
        max: sum.count === 0 ? null : sum.max,
      };
      put.run(
        seriesId,
        startMs,
        row.count,
        row.failed,
        row.min,
        row.max,
        row.sum,
        row.worst,
        summaryCheck(seriesId, row),
      );
    },
  };
}
