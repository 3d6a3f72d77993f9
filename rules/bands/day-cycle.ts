import { hourMs } from '../clock/durations.ts';
import { middleOf } from './five-minute-median.ts';

/**
 * What each hour of the day is used to, learned from the metric itself over a week of hourly medians. Hours are counted in
 * UTC: lights and rooms follow the clock of their place, which moves against it twice a year and then by one hour, so a
 * value is held against the hour before and after as well.
 */

/** A habit is that of a week, since a week has work days and free days. Chosen here. A day has 24 hours. */
const days = 7;
const hours = 24;
/** With fewer days a single odd one would pass for the habit. */
const leastDays = 3;
/** A day counts when half of it was heard. */
const leastHoursOfDay = 12;
/** From a median of absolute deviations to a standard deviation, for a normal distribution. */
const sdFromMad = 1.4826;

export type DayCycle = {
  /** Running hour since 1970, and its five-minute medians so far; null before the first. */
  hour: number | null;
  medians: number[];
  /** Hourly medians of the last seven days, at (day modulo 7) times 24 plus hour; null where nothing came. */
  week: (number | null)[];
  /** Day since 1970 for which `usual` was made. */
  usualDay: number | null;
  /** The usual value of each UTC hour; null while it is not known. */
  usual: (number | null)[];
  /** Standard deviation of an hour from its usual value. */
  spread: number;
  knownDays: number;
};

export function emptyDayCycle(): DayCycle {
  return {
    hour: null,
    medians: [],
    week: Array<number | null>(days * hours).fill(null),
    usualDay: null,
    usual: Array<number | null>(hours).fill(null),
    spread: 0,
    knownDays: 0,
  };
}

/**
 * Takes a five-minute median.
 *
 * @param timeMs  UTC milliseconds, rising
 * @returns true when it ended an hour, so that the hourly rules have something to look at
 */
export function addToDayCycle(cycle: DayCycle, value: number, timeMs: number): boolean {
  const hour = Math.floor(timeMs / hourMs);
  if (cycle.hour === hour) {
    if (cycle.medians.length < 12) cycle.medians.push(value);
    return false;
  }
  const ended = cycle.hour;
  if (ended !== null) {
    cycle.week[slotOf(ended)] = middleOf(cycle.medians) ?? null;
    // Hours without a word must not keep the values of a week ago.
    const skipped = Math.min(hour - ended - 1, days * hours);
    for (let i = 1; i <= skipped; i += 1) cycle.week[slotOf(ended + i)] = null;
  }
  cycle.hour = hour;
  cycle.medians = [value];
  const day = Math.floor(hour / hours);
  if (cycle.usualDay !== day) {
    cycle.usualDay = day;
    learn(cycle);
  }
  return ended !== null;
}

/** The median of a past hour, at most a week back; undefined where nothing came. */
export function hourlyMedian(cycle: DayCycle, hour: number): number | undefined {
  return cycle.week[slotOf(hour)] ?? undefined;
}

/** The usual value of an hour since 1970, undefined while it is not known. */
export function usualAt(cycle: DayCycle, hour: number): number | undefined {
  return cycle.usual[hour % hours] ?? undefined;
}

/**
 * How far a value lies outside what this time of the day is used to, give or take an hour.
 *
 * @returns the distance with its sign, 0 inside, undefined while fewer than three days are known
 */
export function distanceFromUsual(cycle: DayCycle, value: number, timeMs: number): number | undefined {
  if (cycle.knownDays < leastDays) return undefined;
  const hour = Math.floor(timeMs / hourMs);
  let low = Number.POSITIVE_INFINITY;
  let high = Number.NEGATIVE_INFINITY;
  for (let i = -1; i <= 1; i += 1) {
    const usual = usualAt(cycle, hour + i);
    if (usual === undefined) return undefined;
    if (usual < low) low = usual;
    if (usual > high) high = usual;
  }
  if (value > high) return value - high;
  return value < low ? value - low : 0;
}

function learn(cycle: DayCycle): void {
  const deviations: number[] = [];
  const heard = Array<number>(days).fill(0);
  for (let hour = 0; hour < hours; hour += 1) {
    const column: number[] = [];
    for (let day = 0; day < days; day += 1) {
      const value = cycle.week[day * hours + hour];
      if (value === null || value === undefined) continue;
      column.push(value);
      heard[day]! += 1;
    }
    const usual = column.length < leastDays ? undefined : middleOf(column);
    cycle.usual[hour] = usual ?? null;
    if (usual !== undefined) for (const value of column) deviations.push(Math.abs(value - usual));
  }
  cycle.knownDays = heard.filter((count) => count >= leastHoursOfDay).length;
  cycle.spread = sdFromMad * (middleOf(deviations) ?? 0);
}

function slotOf(hour: number): number {
  return (Math.floor(hour / hours) % days) * hours + (hour % hours);
}
