import type { ClockMove } from '../clock/clock-move.ts';

/**
 * Calm values for the rules that compare the water with itself: the median of what came in each five minutes, or of the last
 * three such buckets when a slow stream leaves too little in one. It removes noise and single spikes, costs one comparison for
 * most readings, and never holds more than a dozen values.
 */

/** Chosen here: no fault of a tank is acted on sooner than in five minutes, and dosing and waves act within them. */
const bucketMs = 5 * 60_000;
/** Fewer values than these cannot outvote one spike: then the medians of the last buckets join in. */
const leastValues = 3;
/** Nine values spread over the bucket carry its median well enough; a faster stream is thinned to them. */
const mostValues = 9;
const spacingMs = bucketMs / mostValues;

export type Median = {
  /** Start of the running bucket, UTC milliseconds; null before the first reading. */
  bucketMs: number | null;
  takenMs: number;
  values: number[];
  /** Medians of the two buckets before, oldest first. */
  before: number[];
  /** End of the last bucket that gave a median: however long the pause after it, its value belongs there. */
  endedMs: number;
};

export function emptyMedian(): Median {
  return { bucketMs: null, takenMs: 0, values: [], before: [], endedMs: 0 };
}

/** The clock was put right. */
export function moveMedian(median: Median, { noted }: ClockMove): void {
  median.bucketMs = noted(median.bucketMs);
  median.takenMs = noted(median.takenMs);
  median.endedMs = noted(median.endedMs);
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
    if (timeMs - median.takenMs < spacingMs) return undefined;
    median.takenMs = timeMs;
    median.values.push(value);
    return undefined;
  }
  const ended = calmOf(median);
  if (median.bucketMs !== null) median.endedMs = median.bucketMs + bucketMs;
  median.bucketMs = timeMs - (timeMs % bucketMs);
  median.takenMs = timeMs;
  median.values = [value];
  return ended;
}

/** Nothing before the first value. Of a slow stream: the middle one of the last three buckets, known one bucket later and as deaf to a spike. */
function calmOf(median: Median): number | undefined {
  const own = middleOf(median.values);
  if (own === undefined) return undefined;
  const { before } = median;
  const calm = median.values.length >= leastValues ? own : before.length < 2 ? undefined : middleOf([...before, own]);
  median.before = before.length < 2 ? [...before, own] : [before[1]!, own];
  return calm;
}

/** The middle value, or the mean of the two middle ones; undefined for an empty list. Leaves the list as it is. */
export function middleOf(values: readonly number[]): number | undefined {
  // Lists here are short, and this runs for one reading in five: sorting by insertion costs a fraction of a typed array.
  const sorted = values.length <= 16 ? insertionSorted(values) : Float64Array.from(values).sort();
  const count = sorted.length;
  if (count === 0) return undefined;
  const half = count >> 1;
  return count % 2 === 1 ? sorted[half] : (sorted[half - 1]! + sorted[half]!) / 2;
}

function insertionSorted(values: readonly number[]): number[] {
  const sorted: number[] = [];
  for (const value of values) {
    let at = sorted.length;
    while (at > 0 && sorted[at - 1]! > value) {
      sorted[at] = sorted[at - 1]!;
      at -= 1;
    }
    sorted[at] = value;
  }
  return sorted;
}
