import type { Summary } from '#adapters/ports/store.ts';
import { hourMs, minuteMs } from '#rules/clock/durations.ts';

const stepMs = 5 * minuteMs;

export type Level = { timeMs: number; value: number };

/** Five-minute medians of the means of the minutes, as the rules about swings judge them: one odd minute moves none. */
export function fiveMinuteLevels(minutes: readonly Summary[]): Level[] {
  const steps = new Map<number, number[]>();
  for (const { startMs, mean } of minutes) {
    const step = Math.floor(startMs / stepMs) * stepMs;
    const means = steps.get(step);
    if (means === undefined) steps.set(step, [mean]);
    else means.push(mean);
  }
  return [...steps].map(([timeMs, means]) => ({ timeMs, value: median(means) }));
}

/** Greatest less least level; undefined with fewer than two. */
export function swingOf(levels: readonly Level[]): number | undefined {
  if (levels.length < 2) return undefined;
  const values = levels.map(({ value }) => value);
  return Math.max(...values) - Math.min(...values);
}

/**
 * The largest swing within 60 minutes, and when that hour begins; undefined where no hour has two levels.
 *
 * @param levels  oldest first
 */
export function largestSwingWithinHour(levels: readonly Level[]): { swing: number; fromMs: number } | undefined {
  let largest: { swing: number; fromMs: number } | undefined;
  for (const [index, { timeMs }] of levels.entries()) {
    let end = index + 1;
    while (end < levels.length && levels[end]!.timeMs <= timeMs + hourMs) end++;
    const swing = swingOf(levels.slice(index, end));
    if (swing !== undefined && (largest === undefined || swing > largest.swing)) largest = { swing, fromMs: timeMs };
  }
  return largest;
}

function median(values: readonly number[]): number {
  const sorted = values.toSorted((one, other) => one - other);
  const middle = sorted.length >> 1;
  const upper = sorted[middle] ?? 0;
  return sorted.length % 2 === 1 ? upper : (upper + (sorted[middle - 1] ?? upper)) / 2;
}
