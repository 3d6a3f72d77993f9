/**
 * Calm values for the rules that compare the water with itself: the median of what came in each five minutes. It removes
 * noise and single spikes, costs one comparison for most readings, and never holds more than nine values.
 */

const bucketMs = 5 * 60_000;
/** Nine values spread over the bucket carry its median well enough; a faster stream is thinned to them. */
const mostValues = 9;
const spacingMs = bucketMs / mostValues;

export type Median = {
  /** Start of the running bucket, UTC milliseconds; null before the first reading. */
  bucketMs: number | null;
  takenMs: number;
  values: number[];
  /** End of the last bucket that gave a median: however long the pause after it, its value belongs there. */
  endedMs: number;
};

export function emptyMedian(): Median {
  return { bucketMs: null, takenMs: 0, values: [], endedMs: 0 };
}

/**
 * Takes a good value.
 *
 * @param value   in the metric's store unit
 * @param timeMs  UTC milliseconds, rising
 * @returns the median of the bucket that this value ended, or undefined while it runs on
 */
export function addToMedian(median: Median, value: number, timeMs: number): number | undefined {
  if (median.bucketMs !== null && timeMs - median.bucketMs < bucketMs) {
    if (timeMs - median.takenMs < spacingMs || median.values.length >= mostValues) return undefined;
    median.takenMs = timeMs;
    median.values.push(value);
    return undefined;
  }
  const ended = median.bucketMs === null ? undefined : middleOf(median.values);
  if (median.bucketMs !== null) median.endedMs = median.bucketMs + bucketMs;
  median.bucketMs = timeMs - (timeMs % bucketMs);
  median.takenMs = timeMs;
  median.values = [value];
  return ended;
}

/** The middle value, or the mean of the two middle ones; undefined for an empty list. Leaves the list as it is. */
export function middleOf(values: readonly number[]): number | undefined {
  const sorted = Float64Array.from(values).sort();
  const count = sorted.length;
  if (count === 0) return undefined;
  const half = count >> 1;
  return count % 2 === 1 ? sorted[half] : (sorted[half - 1]! + sorted[half]!) / 2;
}
