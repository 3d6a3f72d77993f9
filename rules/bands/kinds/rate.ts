import type { ClockMove } from '../../clock/clock-move.ts';
import { hourMs, minuteMs } from '../../clock/durations.ts';
import type { Metric } from '../../quantity/metric.ts';
import { firstCheck } from '../../words/first-checks.ts';
import { amountText } from '../../words/value-text.ts';
import { conditionAbove } from '../condition.ts';
import { type AlarmKind, secondPriority } from './kind.ts';

/**
 * How far a metric has moved within the last hour, from five-minute medians. An alarm comes as soon as the allowed change
 * is used up, not after an hour.
 */

/** A rate is stated by the hour, so that is what is looked at. Chosen here. */
const windowMs = hourMs;
/** A bucket every five minutes fills an hour. */
const mostPoints = 13;

export type LastHour = { values: number[]; timesMs: number[] };

export function emptyLastHour(): LastHour {
  return { values: [], timesMs: [] };
}

/** The clock was put right. */
export function moveLastHour(hour: LastHour, { noted }: ClockMove): void {
  hour.timesMs = hour.timesMs.map(noted);
}

/**
 * Takes a median.
 *
 * @param timeMs  UTC milliseconds, rising
 * @returns the change, with its sign, from the value of the last hour that lies furthest from this one; 0 for the first
 */
export function moveWithinHour(hour: LastHour, value: number, timeMs: number): number {
  const { values, timesMs } = hour;
  while (timesMs.length > 0 && (timeMs - timesMs[0]! > windowMs || timesMs.length >= mostPoints)) {
    values.shift();
    timesMs.shift();
  }
  let move = 0;
  for (const earlier of values) {
    const change = value - earlier;
    if (Math.abs(change) > Math.abs(move)) move = change;
  }
  values.push(value);
  timesMs.push(timeMs);
  return move;
}

/** Lights switch and floats step: a fast change is their nature, unless the keeper says otherwise. */
const stepping: ReadonlySet<Metric> = new Set(['par', 'level', 'orp', 'pco2', 'room_co2']);

export const rate: AlarmKind<'rate', 'rate', never> = {
  id: 'rate',
  means: 'It moved more in an hour than allowed. This warns before the edge is reached.',
  firstLook: 'what was switched, added or opened in the last hour?',
  appliesTo: 'metric',
  hasDeadband: true,
  onStream: {
    rate: {
      slot: 2,
      defaults({ metric, band, facts }) {
        if (band === undefined || (stepping.has(metric) && band.mostPerHour === undefined)) return undefined;
        // Four tenths of the band in an hour take the water from the middle nearly to the edge: no time is left to wait for it.
        const limit = band.mostPerHour ?? 0.4 * (band.high - band.low);
        return {
          priority: secondPriority(facts),
          limit,
          deadband: limit / 5,
          onDelayMs: 4 * minuteMs,
          offDelayMs: 10 * minuteMs,
          gapToleranceMs: 35 * minuteMs,
        };
      },
      judge: {
        each: 'median',
        condition({ stream: { series }, settings, median, timeMs }) {
          series.figures.moveInHour = moveWithinHour(series.lastHour, median, timeMs);
          return conditionAbove(Math.abs(series.figures.moveInHour), settings.limit, settings.deadband);
        },
      },
      isTrueNow: ({ moveInHour }, { limit }) => Math.abs(moveInHour) > limit,
      reach: ({ figures: { moveInHour: far } }, { limit }) => Math.sign(far) * Math.max(0, Math.abs(far) - limit),
      side: ({ moveInHour }) => (moveInHour < 0 ? 'low' : 'high'),
      hiddenBy: { by: ['above', 'below', 'impossible', 'flat'], forMs: 60 * minuteMs },
      raised({ name, value, metric, units, figures, settings, within, hint }) {
        const way = figures.moveInHour > 0 ? 'rose' : 'fell';
        const amount = amountText(metric, Math.abs(figures.moveInHour), units);
        const limit = amountText(metric, settings?.limit ?? 0, units);
        const check = firstCheck(metric, figures.moveInHour > 0 ? 'high' : 'low');
        return `${name} ${way} by ${amount} within the last hour, more than ${limit}; it is ${value} now${within}. ${hint}${check}`;
      },
    },
  },
  elsewhere: {},
};
