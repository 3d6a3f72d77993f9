import { dayMs } from '#rules/clock/durations.ts';
import type { OutlookPoint } from '../../../api/room.ts';
import type { Span } from './chart-data.ts';

/** From this width on a day is so narrow that its swing is a smear: the curve is then that of its days. */
const wideMs = 5 * dayMs;

/** An average over the day around each point: what lamps and a dose by hand do within it is gone, the days are left. */
function overItsDay(points: readonly OutlookPoint[]): OutlookPoint[] {
  const [first, last] = [points[0], points.at(-1)];
  if (first === undefined || last === undefined) return [];
  const integrals = { level: areasOf(points, 'level'), low: areasOf(points, 'low'), high: areasOf(points, 'high') };
  const calm = points.map(({ time }): OutlookPoint => {
    const half = Math.min(dayMs / 2, time - first.time, last.time - time);
    if (half <= 0) return time === first.time ? first : last;
    const mean = (of: keyof typeof integrals): number =>
      (areaUpTo(points, integrals[of], of, time + half) - areaUpTo(points, integrals[of], of, time - half)) /
      (2 * half);
    return { time, level: mean('level'), low: mean('low'), high: mean('high') };
  });
  // Before and after a dose are one moment now.
  return calm.filter(({ time }, at) => calm[at + 1]?.time !== time);
}

/** Area under the straight lines between the points, up to each of them. */
function areasOf(points: readonly OutlookPoint[], of: 'level' | 'low' | 'high'): number[] {
  let sum = 0;
  return points.map((point, at) => {
    const before = points[at - 1];
    if (before !== undefined) sum += ((before[of] + point[of]) / 2) * (point.time - before.time);
    return sum;
  });
}

function areaUpTo(
  points: readonly OutlookPoint[],
  areas: readonly number[],
  of: 'level' | 'low' | 'high',
  timeMs: number,
): number {
  let low = 0;
  let high = points.length - 1;
  while (high - low > 1) {
    const middle = (low + high) >> 1;
    if (points[middle]!.time <= timeMs) low = middle;
    else high = middle;
  }
  const [before, after] = [points[low]!, points[high]!];
  const width = after.time - before.time;
  const part = timeMs - before.time;
  const at = width === 0 ? after[of] : before[of] + (part / width) * (after[of] - before[of]);
  return areas[low]! + ((before[of] + at) / 2) * part;
}

export function isWide(shown: Span): boolean {
  return shown.to - shown.from > wideMs;
}

/** The estimated curve as a chart of that width draws it. */
export function curveFor(points: readonly OutlookPoint[], wide: boolean): OutlookPoint[] {
  return wide ? overItsDay(points) : [...points];
}
