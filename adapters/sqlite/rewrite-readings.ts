import type Database from 'better-sqlite3';
import type { KeptReading, RewriteChange } from '../ports/store.ts';
import type { ReadingsTable } from './readings-table.ts';
import type { SummaryTable } from './summary-table.ts';
import { intervalMs, startOf } from './tally.ts';

export type RewriteEnds = {
  /** In the transaction: what the mirror makes of the changed readings. */
  changed(readings: readonly KeptReading[]): void;
  /** In the transaction: what belongs together with having come this far; absent when nothing does. */
  reached: ((reachedMs: number) => void) | undefined;
};

/**
 * Changes stored readings of one series, an hour of the record in each transaction: its readings, their check, the
 * summaries of its minutes and of the hour, and what the caller keeps of its progress. A kill leaves whole hours of before
 * and whole hours of after. Nothing may wait in the write buffer or for its summaries.
 *
 * @returns how many readings have another value or flag now
 * @throws RangeError  when `change` gives a number that is not finite; that hour and the later ones stay as they were
 */
export function rewriteReadings(
  db: Database.Database,
  tables: { readings: ReadingsTable; summaries: SummaryTable },
  seriesId: number,
  span: { fromMs: number; toMs: number },
  change: RewriteChange,
  ends: RewriteEnds,
): number {
  const { readings, summaries } = tables;

  /** Inside a transaction. Gives how many readings changed. */
  function rewriteHour(hourMs: number): number {
    const rows = readings.range(seriesId, hourMs, hourMs + intervalMs.hour, Number.MAX_SAFE_INTEGER);
    const changed: KeptReading[] = [];
    const after = rows.map((row) => {
      if (row.timeMs < span.fromMs || row.timeMs >= span.toMs) return row;
      const given = change(row.timeMs, row.value, row.flag);
      if (given === undefined || (given.value === row.value && given.flag === row.flag)) return row;
      if (!Number.isFinite(given.value)) throw new RangeError(`a reading cannot become ${given.value}`);
      const kept = { timeMs: row.timeMs, ...given };
      readings.replace(seriesId, kept);
      summaries.replaceCheck(seriesId, row, kept);
      changed.push(kept);
      return kept;
    });
    if (changed.length > 0) {
      summaries.replaceHour(seriesId, hourMs, after);
      ends.changed(changed);
    }
    return changed.length;
  }

  let count = 0;
  let reachedMs = span.fromMs;
  while (reachedMs < span.toMs) {
    const next = readings.range(seriesId, reachedMs, span.toMs, 1)[0];
    const hourMs = next && startOf(next.timeMs, 'hour');
    const endMs = hourMs === undefined ? span.toMs : Math.min(hourMs + intervalMs.hour, span.toMs);
    count += db
      .transaction(() => {
        const changed = hourMs === undefined ? 0 : rewriteHour(hourMs);
        ends.reached?.(endMs);
        return changed;
      })
      .immediate();
    reachedMs = endMs;
  }
  return count;
}
