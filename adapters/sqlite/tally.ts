import { dayMs, hourMs, minuteMs } from '#rules/clock/durations.ts';
import { type Flag, flagNumber, flags } from '#rules/quality/reading.ts';
import type { KeptReading, Resolution, Summary } from '../ports/store.ts';

export const intervalMs: Record<Resolution, number> = { minute: minuteMs, hour: hourMs, day: dayMs };

export function startOf(timeMs: number, resolution: Resolution): number {
  return Math.floor(timeMs / intervalMs[resolution]) * intervalMs[resolution];
}

const flagOfNumber = new Map(flags.map((flag) => [flagNumber[flag], flag]));

/** A number that is no QARTOD flag means a damaged row: its value is then as good as a failed one. */
export function flagFromNumber(code: number): Flag {
  return flagOfNumber.get(code) ?? 'fail';
}

/**
 * What is known of the readings of one interval. `count`, `min`, `max` and `sum` are over the values that did not fail:
 * an impossible value must not stretch the ribbon of a chart. That there was one shows in `worst` and `failed`.
 * Two tallies of disjoint readings merge into that of both, in any order.
 */
export type Tally = { count: number; failed: number; min: number; max: number; sum: number; worst: number };

export function emptyTally(): Tally {
  return { count: 0, failed: 0, min: Number.POSITIVE_INFINITY, max: Number.NEGATIVE_INFINITY, sum: 0, worst: 0 };
}

export function tallyReading(tally: Tally, reading: KeptReading): void {
  tally.worst = Math.max(tally.worst, flagNumber[reading.flag]);
  if (reading.flag === 'fail') {
    tally.failed += 1;
    return;
  }
  tally.count += 1;
  tally.sum += reading.value;
  tally.min = Math.min(tally.min, reading.value);
  tally.max = Math.max(tally.max, reading.value);
}

export function mergeTally(into: Tally, other: Tally): void {
  into.count += other.count;
  into.failed += other.failed;
  into.sum += other.sum;
  into.min = Math.min(into.min, other.min);
  into.max = Math.max(into.max, other.max);
  into.worst = Math.max(into.worst, other.worst);
}

/** Nothing for an interval in which every reading failed: it has no value to show. */
export function summaryFrom(startMs: number, tally: Tally): Summary | undefined {
  if (tally.count === 0) return undefined;
  const { count, min, max, sum, worst } = tally;
  return { startMs, count, min, mean: sum / count, max, worst: flagFromNumber(worst) };
}
