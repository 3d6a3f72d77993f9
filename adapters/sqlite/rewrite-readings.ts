import type Database from 'better-sqlite3';
import type { KeptReading, RewriteChange } from '../ports/store.ts';
import type { PackedReadings } from './packed-readings.ts';
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
 * and whole hours of after. No reading of the span may wait to be packed.
 *
 * @returns how many readings have another value or flag now
 * @throws RangeError  when `change` gives a number that is not finite; that hour and the later ones stay as they were
 */
export function rewriteReadings(
  db: Database.Database,
  tables: { packed: PackedReadings; summaries: SummaryTable },
  seriesId: number,
  span: { fromMs: number; toMs: number },
  change: RewriteChange,
  ends: RewriteEnds,
): number {
  const { packed, summaries } = tables;

  /** Inside a transaction. Gives how many readings changed. */
  function rewriteHour(hourMs: number): number {
    const changed = new Map<number, KeptReading>();
    const after = packed.ofHour(seriesId, hourMs).map((before) => {
      if (before.timeMs < span.fromMs || before.timeMs >= span.toMs) return before;
      const given = change(before.timeMs, before.value, before.flag);
      if (given === undefined || (given.value === before.value && given.flag === before.flag)) return before;
      if (!Number.isFinite(given.value)) throw new RangeError(`a reading cannot become ${given.value}`);
      const kept = { timeMs: before.timeMs, ...given };
      changed.set(kept.timeMs, kept);
      return kept;
    });
    if (changed.size > 0) {
      packed.replace(seriesId, changed);
      summaries.replaceHour(seriesId, hourMs, after);
      ends.changed([...changed.values()]);
    }
    return changed.size;
  }

  let count = 0;
  let reachedMs = span.fromMs;
  while (reachedMs < span.toMs) {
    const next = packed.range(seriesId, reachedMs, span.toMs, 1)[0];
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
