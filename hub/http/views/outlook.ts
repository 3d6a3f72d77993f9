import { hourMs } from '#rules/clock/durations.ts';
import type { Advice } from '#rules/dosing/advice-types.ts';
import { sdsFor95Percent } from '#rules/trend/normal-distribution.ts';
import { type RobustTrend, robustTrend } from '#rules/trend/robust-trend.ts';
import type { Outlook, OutlookPoint } from '../../api/room.ts';

export const outlookHours = 48;
const stepHours = 3;
/** The trend is read from so many hours: long enough to see through a heater's switching, short enough to see a failure. */
export const trendHours = 6;
const breakoutHours = 1.5;
const fewestPoints = 7;
/** A trend is believed to go on for about a day; further on it fades (a damped trend, common practice in forecasting). */
const fadeHours = 24;
/** Median absolute deviation of a normal distribution to its standard deviation. */
const madToSd = 1.4826;

type Band = { low: number; high: number } | null;
export type Level = { time: number; value: number };

/** Looks ahead from levels that a forecast has already given, and finds where they cross the band. */
function outlookFrom(by: Outlook['by'], points: OutlookPoint[], band: Band, perDay: number): Outlook {
  const outside = (level: number) => band !== null && (level < band.low || level > band.high);
  const at = points.findIndex((point) => outside(point.level));
  const touching = points.find((point) => outside(point.low) || outside(point.high));
  const leaving = points[at];
  return {
    by,
    points,
    perDay,
    leavesAt: leaving === undefined || band === null ? null : crossing(points[at - 1], leaving, band),
    mayLeaveAt: touching?.time ?? null,
    leavesBy: leaving === undefined || band === null ? null : leaving.level < band.low ? 'low' : 'high',
  };
}

function crossing(before: OutlookPoint | undefined, after: OutlookPoint, band: NonNullable<Band>): number {
  if (before === undefined) return after.time;
  const edge = after.level < band.low ? band.low : band.high;
  const share = (edge - before.level) / (after.level - before.level);
  return Math.round(before.time + share * (after.time - before.time));
}

/** The estimator's own forecast of a tested analyte under the dosing of today. */
export function outlookOfTests(advice: Advice | undefined, band: Band, nowMs: number): Outlook | null {
  const path = advice?.predicted?.withoutAdvice;
  const first = path?.[0];
  if (path === undefined || first === undefined) return null;
  const endMs = nowMs + outlookHours * hourMs;
  const points = path
    .filter((point) => point.timeMs <= endMs + 6 * hourMs)
    .map((point) => ({ time: point.timeMs, level: point.level, low: point.low95, high: point.high95 }));
  const last = points.at(-1);
  if (last === undefined || last.time <= first.timeMs) return null;
  const perDay = ((last.level - first.level) / (last.time - first.timeMs)) * 24 * hourMs;
  return outlookFrom('tests', points, band, perDay);
}

function median(numbers: readonly number[]): number {
  const sorted = numbers.toSorted((a, b) => a - b);
  const middle = sorted.length >> 1;
  const upper = sorted[middle] ?? 0;
  return sorted.length % 2 === 1 ? upper : (upper + (sorted[middle - 1] ?? upper)) / 2;
}

function spread(numbers: readonly number[]): number {
  const middle = median(numbers);
  return madToSd * median(numbers.map((number) => Math.abs(number - middle)));
}

/** The level at a time, on the line between the hours beside it; undefined where the record has a gap. */
function lookUp(hours: readonly Level[]): (timeMs: number) => number | undefined {
  return (timeMs) => {
    const after = hours.findIndex((hour) => hour.time >= timeMs);
    const right = hours[after];
    const left = hours[after - 1];
    if (right === undefined || left === undefined || right.time - left.time > 2 * hourMs) return undefined;
    return left.value + ((timeMs - left.time) / (right.time - left.time)) * (right.value - left.value);
  };
}

/**
 * The day before, when it tells today better than a flat line does: a pH that swings with the lamps then is expected to
 * swing again, and only its difference from yesterday has a trend.
 */
function yesterday(hours: readonly Level[], nowMs: number): ((timeMs: number) => number | undefined) | undefined {
  const level = lookUp(hours);
  const today = hours.filter((hour) => hour.time > nowMs - 24 * hourMs);
  const pairs = today.flatMap((hour) => {
    const before = level(hour.time - 24 * hourMs);
    return before === undefined ? [] : [{ now: hour.value, before }];
  });
  if (pairs.length < 20) return undefined;
  const left = spread(pairs.map(({ now, before }) => now - before));
  return left < 0.7 * spread(pairs.map(({ now }) => now)) ? level : undefined;
}

type Difference = { timeMs: number; value: number };
type Breakout = { trend: RobustTrend; readings: readonly Difference[] };

/**
 * The trend of the last hour and a half, when it has gone where the hours before never were: a median of six hours sees a
 * failed heater only when it has heated for two.
 */
function breakout(differences: readonly Difference[], nowMs: number): Breakout | undefined {
  const startMs = nowMs - breakoutHours * hourMs;
  const before = differences.filter(({ timeMs }) => timeMs <= startMs).map(({ value }) => value);
  const late = differences.filter(({ timeMs }) => timeMs > startMs);
  if (before.length < fewestPoints || late.length < fewestPoints) return undefined;
  const trend = robustTrend(late);
  const [low, high] = [Math.min(...before), Math.max(...before)];
  const isOut = trend.valueAtEnd > high ? trend.low95PerHour > 0 : trend.valueAtEnd < low && trend.high95PerHour < 0;
  return isOut ? { trend, readings: late } : undefined;
}

/**
 * The outlook of a probe by its robust trend of the last hours, on top of the course of the day before where that repeats.
 *
 * @param recent  means of some minutes each, the last hours, oldest first
 * @param hours  means of the hours of the last two days, at their middles, oldest first
 * @returns null while too little is known; never further ahead than the record reaches back
 */
export function outlookOfProbe(
  recent: readonly Level[],
  hours: readonly Level[],
  band: Band,
  nowMs: number,
): Outlook | null {
  const window = recent.filter((each) => each.time > nowMs - trendHours * hourMs);
  const firstMs = Math.min(hours[0]?.time ?? nowMs, window[0]?.time ?? nowMs);
  const lastMs = window.at(-1)?.time ?? 0;
  if (window.length < fewestPoints || nowMs - lastMs > hourMs) return null;
  const daily = yesterday(hours, nowMs);
  const base = (timeMs: number) => daily?.(timeMs - 24 * hourMs) ?? median(hours.map((hour) => hour.value));
  const usual = daily === undefined ? () => 0 : base;
  const differences = window.map((each) => ({ timeMs: each.time, value: each.value - usual(each.time) }));
  const late = breakout(differences, nowMs);
  const trend = late?.trend ?? robustTrend(differences);
  const noise = spread(
    (late?.readings ?? differences).map(
      ({ timeMs, value }) => value - (trend.slopePerHour * (timeMs - lastMs)) / hourMs,
    ),
  );
  const dayToDay = spread(
    hours.filter((hour) => hour.time > nowMs - 24 * hourMs).map((hour) => hour.value - usual(hour.time)),
  );
  const isClear = trend.low95PerHour > 0 || trend.high95PerHour < 0;
  const reach = Math.min(fadeHours, (nowMs - firstMs) / hourMs);
  const believed = (ahead: number) => reach * (1 - Math.exp(-ahead / reach));
  const slope = isClear && Math.abs(trend.slopePerHour) * believed(24) > dayToDay ? trend.slopePerHour : 0;
  const slopeSd = slope === 0 ? 0 : (trend.high95PerHour - trend.low95PerHour) / (2 * sdsFor95Percent);
  const start = slope === 0 ? median(differences.map(({ value }) => value)) : trend.valueAtEnd;
  const farthest = Math.min(outlookHours, (nowMs - firstMs) / hourMs);
  const points: OutlookPoint[] = [];
  for (let ahead = 0; ahead <= farthest; ahead += stepHours) {
    const time = nowMs + ahead * hourMs;
    const cycle = usual(time - (ahead > 24 ? 24 : 0) * hourMs);
    const level = cycle + start + slope * believed(ahead);
    const half =
      sdsFor95Percent * Math.sqrt(noise ** 2 + (dayToDay ** 2 * ahead) / 24 + (slopeSd * believed(ahead)) ** 2);
    points.push({ time, level, low: level - half, high: level + half });
  }
  return points.length < 2 ? null : outlookFrom('probe', points, band, slope * 24);
}
