import { DateTime } from 'luxon';

/** A time as a person in the room would say it, e.g. `02:10`, with the day when that is another one than now: `3 Nov 02:10`. */
export function localTime(timeMs: number, nowMs: number, timezone: string): string {
  const time = DateTime.fromMillis(timeMs, { zone: timezone, locale: 'en' });
  const now = DateTime.fromMillis(nowMs, { zone: timezone });
  return time.toFormat(time.hasSame(now, 'day') ? 'HH:mm' : 'd LLL HH:mm');
}
