import { dayMs } from '../clock/durations.ts';
import { OutOfRange } from '../quantity/out-of-range.ts';
import { sdsFor95Percent } from './normal-distribution.ts';

export type RobustTrend = {
  /** Median of the slopes between all pairs, unit of the stream an hour. */
  slopePerHour: number;
  low95PerHour: number;
  high95PerHour: number;
  /** The line's value at the last time. */
  valueAtEnd: number;
  pointsUsed: number;
};

/** Pairs grow with the square of the points: a longer stream is first reduced to so many medians of equal time. */
const mostPoints = 120;

/**
 * The slope of a stream that single wild values cannot bend: Theil and Sen's median of pairwise slopes, with Sen's rank
 * interval. Neighbouring probe readings err alike, so the interval is widened by the residuals' likeness from one to the next.
 *
 * @param readings  oldest first, one stream, at least 3 at 2 or more times
 * @throws OutOfRange  for fewer than 3 readings, or all at one time, or a time or value that is not finite
 * @source Sen 1968, J. Am. Stat. Assoc. 63, 1379; Theil 1950 (cited from memory)
 */
export function robustTrend(readings: readonly { timeMs: number; value: number }[]): RobustTrend {
  for (const { timeMs, value } of readings)
    for (const number of [timeMs, value])
      if (!Number.isFinite(number)) throw new OutOfRange('time or value of a reading', number, 'finite');
  const points = reduced(readings);
  const slopes: number[] = [];
  for (let i = 0; i < points.length; i++)
    for (let j = i + 1; j < points.length; j++) {
      const hours = (points[j]!.timeMs - points[i]!.timeMs) / (dayMs / 24);
      if (hours > 0) slopes.push((points[j]!.value - points[i]!.value) / hours);
    }
  if (points.length < 3 || slopes.length === 0)
    throw new OutOfRange('readings for a trend', points.length, '3 or more, at 2 or more times');
  slopes.sort((a, b) => a - b);
  const slopePerHour = median(slopes);
  const endMs = readings.at(-1)!.timeMs;
  const offsets = points.map(({ timeMs, value }) => value - (slopePerHour * (timeMs - endMs)) / (dayMs / 24));
  const valueAtEnd = median([...offsets].sort((a, b) => a - b));
  const n = points.length;
  const kendallSd = Math.sqrt((n * (n - 1) * (2 * n + 5)) / 18) * Math.sqrt(likeness(offsets, valueAtEnd));
  // Sen's ranks from 1 are (N - C) / 2 and (N + C) / 2 + 1 of N slopes; here they start at 0.
  const [middle, half] = [slopes.length / 2, (sdsFor95Percent * kendallSd) / 2];
  return {
    slopePerHour,
    valueAtEnd,
    pointsUsed: n,
    low95PerHour: atRank(slopes, middle - half - 1),
    high95PerHour: atRank(slopes, middle + half),
  };
}

/** How many times more points it would take because neighbours err alike: (1 + r) / (1 - r), r from 0 to 0.95. */
function likeness(offsets: readonly number[], middle: number): number {
  let square = 0;
  let neighbours = 0;
  offsets.forEach((offset, i) => {
    square += (offset - middle) ** 2;
    if (i > 0) neighbours += (offset - middle) * (offsets[i - 1]! - middle);
  });
  const r = square === 0 ? 0 : Math.min(0.95, Math.max(0, neighbours / square));
  return (1 + r) / (1 - r);
}

function reduced(readings: readonly { timeMs: number; value: number }[]): { timeMs: number; value: number }[] {
  if (readings.length <= mostPoints) return [...readings];
  const firstMs = readings[0]!.timeMs;
  const widthMs = (readings.at(-1)!.timeMs - firstMs) / mostPoints || 1;
  const buckets = new Map<number, { timeMs: number; value: number }[]>();
  for (const reading of readings) {
    const bucket = Math.min(mostPoints - 1, Math.floor((reading.timeMs - firstMs) / widthMs));
    const inBucket = buckets.get(bucket);
    if (inBucket === undefined) buckets.set(bucket, [reading]);
    else inBucket.push(reading);
  }
  const middle = (numbers: number[]): number => median(numbers.sort((a, b) => a - b));
  return [...buckets.values()].map((bucket) => ({
    timeMs: middle(bucket.map((reading) => reading.timeMs)),
    value: middle(bucket.map((reading) => reading.value)),
  }));
}

/** `sorted` ascending and not empty. */
function median(sorted: readonly number[]): number {
  return atRank(sorted, (sorted.length - 1) / 2);
}

/** Linear between neighbours, the first rank 0; beyond the ends the end. `sorted` ascending and not empty. */
function atRank(sorted: readonly number[], rank: number): number {
  const place = Math.min(sorted.length - 1, Math.max(0, rank));
  const below = Math.floor(place);
  return sorted[below]! + (place - below) * (sorted[Math.ceil(place)]! - sorted[below]!);
}
