import type { Flag } from './reading.ts';

/**
 * QARTOD's spike test compares a value with the mean of its two neighbours, and so has to wait for the next one. A reading
 * that waits is an alarm that waits, so here the reference is the median of the last values: known at once, and unmoved by
 * a spike or two among them. It differs from the manual in one way: the good neighbours of a spike pass.
 */

/** Values that a spike is compared with. Five outvote a burst of two; a true step is believed from its third value. */
export const spikeWindow = 5;
const leastValues = 3;

/**
 * @param recent     the last values before this one, oldest first, at most `spikeWindow`, spikes included
 * @param threshold  above 0, same unit as the value
 * @returns suspect beyond the threshold, not_evaluated before three values are known
 * @source QARTOD manuals (IOOS), test 6 "spike", with the median in place of the neighbours' mean (from memory)
 */
export function spikeFlag(
  value: number,
  recent: readonly number[],
  threshold: number,
): Extract<Flag, 'pass' | 'suspect' | 'not_evaluated'> {
  if (recent.length < leastValues) return 'not_evaluated';
  return Math.abs(value - recentMedian(recent)) > threshold ? 'suspect' : 'pass';
}

/** Median of the last five values, or of the last three while there are only three or four. */
export function recentMedian(recent: readonly number[]): number {
  const count = recent.length;
  const c = recent[count - 1]!;
  const b = recent[count - 2]!;
  const a = recent[count - 3]!;
  if (count < spikeWindow) return middle(a, b, c);
  const d = recent[count - 4]!;
  const e = recent[count - 5]!;
  // Of four values, neither the smallest nor the largest can be the median of five: what is left with the fifth decides.
  const inner1 = Math.max(Math.min(a, b), Math.min(c, d));
  const inner2 = Math.min(Math.max(a, b), Math.max(c, d));
  return middle(inner1, inner2, e);
}

function middle(a: number, b: number, c: number): number {
  return Math.max(Math.min(a, b), Math.min(Math.max(a, b), c));
}
