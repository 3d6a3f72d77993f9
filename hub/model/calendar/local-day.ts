import { DateTime } from 'luxon';

/** The date of a time in the site's zone, `2026-03-31`. */
export function localDate(timeMs: number, timezone: string): string {
  return DateTime.fromMillis(timeMs, { zone: timezone }).toFormat('yyyy-MM-dd');
}

/** The same as one says it in the room, `Tue 31 Mar`. */
export function spokenDate(timeMs: number, timezone: string): string {
  return DateTime.fromMillis(timeMs, { zone: timezone, locale: 'en-GB' }).toFormat('ccc d LLL');
}

/** The hour of day in the site's zone, 0 to 23. */
export function localHourOf(timeMs: number, timezone: string): number {
  return DateTime.fromMillis(timeMs, { zone: timezone }).hour;
}

/** Minutes after local midnight by the wall clock of the site's zone, 0 to 1439. */
export function localMinuteOf(timeMs: number, timezone: string): number {
  const { hour, minute } = DateTime.fromMillis(timeMs, { zone: timezone });
  return hour * 60 + minute;
}

/** Days from one date to another: 0 for the same, whatever the clocks do between. */
export function daysBetween(from: string, to: string): number {
  const start = DateTime.fromISO(from, { zone: 'utc' });
  return Math.round(DateTime.fromISO(to, { zone: 'utc' }).diff(start, 'days').days);
}

/** The date so many days later. */
export function dateAfter(date: string, days: number): string {
  return DateTime.fromISO(date, { zone: 'utc' }).plus({ days }).toFormat('yyyy-MM-dd');
}

/** Local midnight that begins the day of a time, UTC ms. */
export function dayStartMs(timeMs: number, timezone: string): number {
  return DateTime.fromMillis(timeMs, { zone: timezone }).startOf('day').toMillis();
}
