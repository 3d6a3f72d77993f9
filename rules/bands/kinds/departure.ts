import { minuteMs } from '../../clock/durations.ts';
import { firstCheck } from '../../words/first-checks.ts';
import { amountText } from '../../words/value-text.ts';
import { type Condition, conditionAbove } from '../condition.ts';
import { type DayCycle, distanceFromUsual } from '../day-cycle.ts';
import { type AlarmKind, onMedians } from './kind.ts';

/** Whatever the band allows, what this stream does every other day is not worth an alarm. */
const spreads = 5;
const wholeWeek = 7;

/**
 * A value that this time of the day is not used to. Unknown in the first three days; until a week is known it must be twice
 * as far away, because three days say little about the fourth.
 *
 * @param distance  from `distanceFromUsual`, in the metric's store unit
 * @param limit     distance that is allowed once a week is known, same unit
 * @param deadband  same unit
 */
export function departureCondition(
  cycle: DayCycle,
  distance: ReturnType<typeof distanceFromUsual>,
  limit: number,
  deadband: number,
): Condition {
  if (distance === undefined) return 'unknown';
  const factor = cycle.knownDays < wholeWeek ? 2 : 1;
  const allowed = factor * Math.max(limit, spreads * cycle.spread);
  return conditionAbove(Math.abs(distance), allowed, Math.min(factor * deadband, allowed));
}

export const departure: AlarmKind<'departure', 'departure', never> = {
  id: 'departure',
  means: 'Inside the band, but not usual for this hour.',
  firstLook: 'what is different today? Often a pump, a window, a lamp that did not come on.',
  appliesTo: 'metric',
  hasDeadband: true,
  onStream: {
    departure: {
      slot: 5,
      defaults({ band, facts }) {
        if (band === undefined) return undefined;
        const limit = (facts.departureShare ?? 0.2) * (band.high - band.low);
        return {
          ...onMedians,
          priority: 'low',
          isEnabled: facts.departureShare !== undefined,
          limit,
          // Half of the distance that raises it is back again.
          deadband: limit / 2,
          onDelayMs: 30 * minuteMs,
          offDelayMs: 60 * minuteMs,
        };
      },
      judge: {
        each: 'median',
        condition({ stream: { series }, settings, median, timeMs, isUsual }) {
          if (!isUsual) return undefined;
          const distance = distanceFromUsual(series.cycle, median, timeMs);
          series.figures.distanceFromUsual = distance ?? 0;
          return departureCondition(series.cycle, distance, settings.limit, settings.deadband);
        },
      },
      reach: ({ figures: { distanceFromUsual: far } }, { limit }) =>
        Math.sign(far) * Math.max(0, Math.abs(far) - limit),
      side: ({ distanceFromUsual: distance }) => (distance < 0 ? 'low' : 'high'),
      hiddenBy: { by: ['above', 'below', 'rate', 'swing', 'impossible', 'flat'], forMs: 6 * 60 * minuteMs },
      raised({ name, value, metric, units, figures, held, within, hint }) {
        const way = figures.distanceFromUsual > 0 ? 'above' : 'below';
        const amount = amountText(metric, Math.abs(figures.distanceFromUsual), units);
        const check = firstCheck(metric, figures.distanceFromUsual > 0 ? 'high' : 'low');
        return `${name} is ${value}, ${amount} ${way} what is usual for this hour${held}${within}. ${hint}${check}`;
      },
    },
  },
  elsewhere: {},
};
