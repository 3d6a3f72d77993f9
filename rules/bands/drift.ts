import { type DayCycle, hourlyMedian, usualAt } from './day-cycle.ts';
import type { Band } from './watched-room.ts';

/**
 * A slow, steady walk towards an edge, from the stream alone: the last day's distance from what each hour is used to, its
 * robust slope (Theil 1950, Sen 1968: the median of the slopes of all pairs), and the usual day ahead carried on by it.
 */

const windowHours = 24;
const leastHours = 18;
/** Further ahead nothing is said. */
const horizonHours = 72;
/** The slope that four in five pairs of hours exceed: a forecast that does not hang on the median being right. */
const cautiousShare = 0.2;
/** A walk that has not yet covered a tenth of the band may be anything... */
const leastShareOfBand = 0.1;
/** ...and so may one that other days have seen: weather warms a room for two days and cools it again. */
const leastSpreads = 4;

export type Walk = {
  /** Cautious slope, in the metric's store unit a day; 0 where it has not gone far enough to be asked for. */
  perDay: number;
  /** Until the band is left; null when it is not within three days. */
  hoursToLeave: number | null;
};

/**
 * @param hour  the last whole hour, since 1970
 * @returns undefined while the day's habit or the last day is not known well enough
 */
export function walkOf(cycle: DayCycle, band: Band, hour: number): Walk | undefined {
  const residuals: { hour: number; value: number }[] = [];
  for (let at = hour - windowHours + 1; at <= hour; at += 1) {
    const median = hourlyMedian(cycle, at);
    const usual = usualAt(cycle, at);
    if (median !== undefined && usual !== undefined) residuals.push({ hour: at, value: median - usual });
  }
  const last = residuals.at(-1);
  if (residuals.length < leastHours || last === undefined || last.hour !== hour) return undefined;
  const least = Math.max(leastShareOfBand * (band.high - band.low), leastSpreads * cycle.spread);
  // The pairs are many, and on most hours there is nothing to ask them.
  if (Math.abs(last.value) <= least) return { perDay: 0, hoursToLeave: null };
  const slope = cautiousSlope(residuals);
  const still: Walk = { perDay: slope * 24, hoursToLeave: null };
  if (last.value * slope <= 0) return still;
  for (let ahead = 1; ahead <= horizonHours; ahead += 1) {
    const usual = usualAt(cycle, hour + ahead);
    if (usual === undefined) continue;
    const expected = usual + last.value + slope * ahead;
    if (slope > 0 ? expected > band.high : expected < band.low) return { ...still, hoursToLeave: ahead };
  }
  return still;
}

/** In units an hour; 0 when the pairs do not agree on a direction. */
function cautiousSlope(points: readonly { hour: number; value: number }[]): number {
  const slopes = new Float64Array((points.length * (points.length - 1)) / 2);
  let count = 0;
  for (const [i, a] of points.entries()) {
    for (let j = i + 1; j < points.length; j += 1) {
      const b = points[j]!;
      slopes[count] = (b.value - a.value) / (b.hour - a.hour);
      count += 1;
    }
  }
  slopes.sort();
  const low = slopes[Math.floor(cautiousShare * (slopes.length - 1))]!;
  const high = slopes[Math.ceil((1 - cautiousShare) * (slopes.length - 1))]!;
  return low > 0 ? low : Math.min(high, 0);
}
