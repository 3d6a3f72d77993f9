import { hourMs, minuteMs } from '../../clock/durations.ts';
import { amountText } from '../../words/value-text.ts';
import { conditionAbove } from '../condition.ts';
import { type AlarmKind, onMedians, secondPriority } from './kind.ts';

/**
 * The distance between the highest and the lowest value of the last day, from five-minute medians. Whole hours are kept, so
 * the window is 24 to 25 hours long and the work is done once an hour.
 */

/** The swing of a tank is that of its day. */
const hours = 24;

export type LastDay = {
  /** Number of the running hour since 1970; null before the first value. */
  hour: number | null;
  low: number;
  high: number;
  /** Whole hours, oldest first: number of the hour, lowest, highest. */
  past: { hour: number; low: number; high: number }[];
  /** Over `past`. */
  pastLow: number | null;
  pastHigh: number | null;
};

export function emptyLastDay(): LastDay {
  return { hour: null, low: 0, high: 0, past: [], pastLow: null, pastHigh: null };
}

/**
 * Takes a median.
 *
 * @param value   in the metric's store unit
 * @param timeMs  UTC milliseconds, rising
 * @returns highest minus lowest of the last 24 to 25 hours, 0 or more
 */
export function swingOfDay(day: LastDay, value: number, timeMs: number): number {
  const hour = Math.floor(timeMs / hourMs);
  if (day.hour !== hour) {
    if (day.hour !== null) day.past.push({ hour: day.hour, low: day.low, high: day.high });
    day.past = day.past.filter((past) => hour - past.hour <= hours);
    day.hour = hour;
    day.low = value;
    day.high = value;
    day.pastLow = day.past.length === 0 ? null : Math.min(...day.past.map((past) => past.low));
    day.pastHigh = day.past.length === 0 ? null : Math.max(...day.past.map((past) => past.high));
  } else {
    if (value < day.low) day.low = value;
    if (value > day.high) day.high = value;
  }
  return Math.max(day.high, day.pastHigh ?? day.high) - Math.min(day.low, day.pastLow ?? day.low);
}

export const swing: AlarmKind<'swing', 'swing', never> = {
  id: 'swing',
  means: 'It moved more in a day than allowed, up and down together.',
  firstLook: 'its curve over the last day: lamp, heater, room, or dosing all at once?',
  appliesTo: 'metric',
  hasDeadband: true,
  onStream: {
    swing: {
      slot: 3,
      // Without a stated limit the band itself is the limit of a day's swing.
      defaults: ({ band, facts }) =>
        band?.mostPerDay === undefined
          ? undefined
          : {
              ...onMedians,
              priority: secondPriority(facts),
              limit: band.mostPerDay,
              deadband: band.mostPerDay / 10,
              onDelayMs: 10 * minuteMs,
              offDelayMs: 30 * minuteMs,
            },
      judge: {
        each: 'median',
        condition({ stream: { series }, settings, median, timeMs }) {
          series.figures.swing = swingOfDay(series.lastDay, median, timeMs);
          return conditionAbove(series.figures.swing, settings.limit, settings.deadband);
        },
      },
      isTrueNow: (figures, { limit }) => figures.swing > limit,
      reach: ({ figures }, { limit }) => figures.swing - limit,
      hiddenBy: { by: ['above', 'below', 'rate', 'impossible', 'flat'], forMs: 25 * hourMs },
      raised({ name, value, metric, units, figures, settings, within }) {
        const amount = amountText(metric, figures.swing, units);
        const limit = amountText(metric, settings?.limit ?? 0, units);
        return `${name} moved by ${amount} within a day, more than ${limit}; it is ${value} now${within}. Look at its curve of the last day.`;
      },
    },
  },
  elsewhere: {},
};
