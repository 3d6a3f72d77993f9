import { dayMs, hourMs } from '#rules/clock/durations.ts';
import type { ReviewFigures } from '../../../model/answers/review-schema.ts';

/** Times of a week as a person in the room says them, by the wall clock of the site. Used by the hub and by the page. */
export type ReviewTimes = {
  /** `16 to 22 November 2026`. */
  span: string;
  /** The days of the whole week: start and short name. */
  days: { startMs: number; name: string }[];
  /** `Mon 16 Nov, 07:15`. */
  moment(timeMs: number): string;
  /** `Mon` of `2026-11-16`. */
  dayOf(date: string): string;
};

export function reviewTimes({
  fromMs,
  toMs,
  timezone,
}: Pick<ReviewFigures, 'fromMs' | 'toMs' | 'timezone'>): ReviewTimes {
  const format = (options: Intl.DateTimeFormatOptions, timeZone = timezone) =>
    new Intl.DateTimeFormat('en-GB', { timeZone, ...options });
  const date = format({ day: 'numeric', month: 'long', year: 'numeric' });
  const clock = format({
    weekday: 'short',
    day: 'numeric',
    month: 'short',
    hour: '2-digit',
    minute: '2-digit',
    hourCycle: 'h23',
  });
  const name = format({ weekday: 'short' });
  const isoDate = new Intl.DateTimeFormat('en-CA', { timeZone: timezone, dateStyle: 'short' });
  return {
    span: date
      .formatRange(fromMs, toMs - 1)
      .replace('–', ' to ')
      .replace(/\s+/g, ' '),
    days: dayStarts(fromMs, toMs, (timeMs) => isoDate.format(timeMs)).map((startMs) => ({
      startMs,
      name: name.format(startMs),
    })),
    moment: (timeMs) => clock.format(timeMs),
    dayOf: (text) => format({ weekday: 'short' }, 'UTC').format(Date.parse(`${text}T00:00:00Z`)),
  };
}

/** The first minute of each date in [fromMs, toMs): a change of the clocks moves it by an hour or a half. */
function dayStarts(fromMs: number, toMs: number, dateOf: (timeMs: number) => string): number[] {
  const starts = [fromMs];
  for (let startMs = fromMs; starts.length < 7; ) {
    const next = dateOf(startMs + 1.5 * dayMs);
    let nextMs = startMs + dayMs - 2 * hourMs;
    while (nextMs < toMs && dateOf(nextMs) !== next) nextMs += 30 * 60_000;
    if (nextMs >= toMs) break;
    starts.push(nextMs);
    startMs = nextMs;
  }
  return starts;
}
