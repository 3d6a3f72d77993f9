import { DateTime, IANAZone } from 'luxon';
import { hourMs } from '#rules/clock/durations.ts';

/** An ISO week as a text such as `2026-W47`. */
export type IsoWeek = string;

export type LocalDay = {
  /** `YYYY-MM-DD` in the zone. */
  date: string;
  startMs: number;
  /** Exclusive; 23 or 25 hours after the start on the days on which the clocks change. */
  endMs: number;
};

/** The first day of a week, or undefined for a text that names none: `2026-W54`, `2025-W53`. */
function mondayOf(week: IsoWeek): DateTime | undefined {
  const parts = /^(\d{4})-W(\d{2})$/.exec(week);
  if (parts === null) return undefined;
  const monday = DateTime.fromObject(
    { weekYear: Number(parts[1]), weekNumber: Number(parts[2]), weekday: 1 },
    { zone: 'utc' },
  );
  return monday.isValid ? monday : undefined;
}

/** True for a text that names a week of the calendar (ISO 8601: week 1 holds the first Thursday of the year). */
export function isIsoWeek(text: string): text is IsoWeek {
  return mondayOf(text) !== undefined;
}

/** The week in which a moment lies for people in the zone. */
export function isoWeekAt(timeMs: number, zone: string): IsoWeek {
  return weekText(DateTime.fromMillis(timeMs, { zone }));
}

/** The week so many weeks later; earlier for a negative number. */
export function weekAfter(week: IsoWeek, weeks = 1): IsoWeek {
  return weekText(sureMonday(week).plus({ weeks }));
}

/** The seven days of a week in the zone, Monday first; each begins where the one before ends. */
export function daysOfWeek(week: IsoWeek, zone: string): LocalDay[] {
  const monday = sureMonday(week);
  const starts = Array.from({ length: 8 }, (_, index) => startOfLocalDayMs(monday.plus({ days: index }), zone));
  return Array.from({ length: 7 }, (_, index) => ({
    date: monday.plus({ days: index }).toISODate() ?? '',
    startMs: starts[index]!,
    endMs: starts[index + 1]!,
  }));
}

/** [startMs, endMs) of a week in the zone: 167 to 169 hours where the clocks change in it. */
export function weekBounds(week: IsoWeek, zone: string): { startMs: number; endMs: number } {
  const monday = sureMonday(week);
  return { startMs: startOfLocalDayMs(monday, zone), endMs: startOfLocalDayMs(monday.plus({ weeks: 1 }), zone) };
}

/** ISO 8601 to the second with the offset of the zone at that moment. */
export function localTimeText(timeMs: number, zone: string): string {
  // The milliseconds are cut off and not rounded, so that a time never appears in the next day.
  return DateTime.fromMillis(timeMs, { zone }).startOf('second').toISO({ suppressMilliseconds: true }) ?? '';
}

function sureMonday(week: IsoWeek): DateTime {
  const monday = mondayOf(week);
  if (monday === undefined) throw new RangeError(`${week.slice(0, 20)} is no ISO week such as 2026-W47`);
  return monday;
}

function weekText(time: DateTime): IsoWeek {
  return `${String(time.weekYear).padStart(4, '0')}-W${String(time.weekNumber).padStart(2, '0')}`;
}

const msPerMinute = 60_000;

/**
 * The first moment that bears the date in the zone. Mostly midnight; where the clocks go forward at midnight it is
 * 01:00, and where they go back over midnight it is the first of the two midnights.
 *
 * @param date  the calendar date as midnight UTC
 */
function startOfLocalDayMs(date: DateTime, zoneName: string): number {
  const zone = IANAZone.create(zoneName);
  const midnightAsUtcMs = date.toMillis();
  const offsets = [-36, 36].map((hours) => zone.offset(midnightAsUtcMs + hours * hourMs));
  const midnights = offsets
    .map((offset) => ({ offset, timeMs: midnightAsUtcMs - offset * msPerMinute }))
    .filter(({ offset, timeMs }) => zone.offset(timeMs) === offset)
    .map(({ timeMs }) => timeMs);
  if (midnights.length > 0) return Math.min(...midnights);
  // There is no midnight: the day begins at the jump itself, which is found by halving.
  let before = midnightAsUtcMs - Math.max(...offsets) * msPerMinute - hourMs;
  let after = midnightAsUtcMs - Math.min(...offsets) * msPerMinute + hourMs;
  while (after - before > 1) {
    const middle = Math.floor((before + after) / 2);
    if (middle + zone.offset(middle) * msPerMinute >= midnightAsUtcMs) after = middle;
    else before = middle;
  }
  return after;
}
