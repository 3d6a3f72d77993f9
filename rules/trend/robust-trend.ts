import { OutOfRange } from '../quantity/out-of-range.ts';
import { dayMs } from './demand-model.ts';
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
 * @throws OutOfRange  for fewer than 3 readings, or all at one time, or a number that is not finite
 * @source Sen 1968, J. Am. Stat. Assoc. 63, 1379; Theil 1950 (cited from memory)
 */
export function robustTrend(readings: readonly { timeMs: number; value: number }[]): RobustTrend {
  for (const { timeMs, value } of readings)
    if (!Number.isFinite(timeMs) || !Number.isFinite(value)) throw new OutOfRange('reading', value, 'finite');
  const points = reduced(readings);
  const slopes: number[] = [];
  for (let i = 0; i < points.length; i++)
    for (let j = i + 1; j < points.length; j++) {
      const hours = (points[j]!.timeMs - points[i]!.timeMs) / (dayMs / 24);
      if (hours > 0) slopes.push((points[j]!.value - points[i]!.value) / hours);
    }
  if (points.length < 3 || slopes.length < 3) throw new OutOfRange('readings for a trend', points.length, '3 or more');
  slopes.sort((a, b) => a - b);
  const slopePerHour = quantile(slopes, 0.5);
  const endMs = points.at(-1)!.timeMs;
  const offsets = points.map(({ timeMs, value }) => value - (slopePerHour * (timeMs - endMs)) / (dayMs / 24));
  const valueAtEnd = quantile(
    [...offsets].sort((a, b) => a - b),
    0.5,
  );
  const n = points.length;
  const kendallSd = Math.sqrt((n * (n - 1) * (2 * n + 5)) / 18) * Math.sqrt(likeness(offsets, valueAtEnd));
  const away = Math.min(0.5, (sdsFor95Percent * kendallSd) / (2 * slopes.length));
  return {
    ...{ slopePerHour, valueAtEnd, pointsUsed: n },
    ...{ low95PerHour: quantile(slopes, 0.5 - away), high95PerHour: quantile(slopes, 0.5 + away) },
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
  const middle = (numbers: number[]): number =>
    quantile(
      numbers.sort((a, b) => a - b),
      0.5,
    );
  return [...buckets.values()].map((bucket) => ({
    timeMs: middle(bucket.map((reading) => reading.timeMs)),
    value: middle(bucket.map((reading) => reading.value)),
  }));
}

/** Linear between neighbours; `sorted` ascending and not empty. */
function quantile(sorted: readonly number[], share: number): number {
  const place = share * (sorted.length - 1);
  const below = Math.floor(place);
  const above = Math.min(sorted.length - 1, below + 1);
  return sorted[below]! + (place - below) * (sorted[above]! - sorted[below]!);
}
