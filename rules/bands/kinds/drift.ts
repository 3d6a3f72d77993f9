import { hourMs } from '../../clock/durations.ts';
import { metricFacts } from '../../quantity/metric.ts';
import { firstCheck } from '../../words/first-checks.ts';
import { amountText, bandText, durationText } from '../../words/value-text.ts';
import { type Condition, conditionBelow } from '../condition.ts';
import { type DayCycle, hourlyMedian, usualAt } from '../day-cycle.ts';
import type { ForecastEvidence } from '../evidence.ts';
import type { Band } from '../watched-room.ts';
import { type AlarmKind, type Asked, type Judged, onMedians, untilNext } from './kind.ts';

/**
 * A slow, steady walk towards an edge, from the stream alone: the last day's distance from what each hour is used to, its
 * robust slope (Theil 1950, Sen 1968: the median of the slopes of all pairs), and the usual day ahead carried on by it.
 */

/** The slope is that of a day, of which three quarters must be heard: less of it leaves the day's own swing in. Chosen here. */
const windowHours = 24;
const leastHours = 18;
/** Further ahead nothing is said. */
const horizonHours = 72;
/** The slope that four in five pairs of hours exceed: a forecast that does not hang on the median being right. */
const cautiousShare = 0.2;
/** A walk that has not yet covered a tenth of the band may be anything... */
const leastShareOfBand = 0.1;
/** ...and so may one that other days have seen: weather warms a room for two days and cools it again. */
const leastSpreads = 4;

export type Walk = {
  /** Cautious slope, in the metric's store unit a day; 0 where it has not gone far enough to be asked for. */
  perDay: number;
  /** Until the band is left; null when it is not within three days. */
  hoursToLeave: number | null;
};

/**
 * @param hour  the last whole hour, since 1970
 * @returns undefined while the day's habit or the last day is not known well enough
 */
export function walkOf(cycle: DayCycle, band: Band, hour: number): Walk | undefined {
  const residuals: { hour: number; value: number }[] = [];
  for (let at = hour - windowHours + 1; at <= hour; at += 1) {
    const median = hourlyMedian(cycle, at);
    const usual = usualAt(cycle, at);
    if (median !== undefined && usual !== undefined) residuals.push({ hour: at, value: median - usual });
  }
  const last = residuals.at(-1);
  if (residuals.length < leastHours || last === undefined || last.hour !== hour) return undefined;
  const least = Math.max(leastShareOfBand * (band.high - band.low), leastSpreads * cycle.spread);
  // The pairs are many, and on most hours there is nothing to ask them.
  if (Math.abs(last.value) <= least) return { perDay: 0, hoursToLeave: null };
  const slope = cautiousSlope(residuals);
  const still: Walk = { perDay: slope * 24, hoursToLeave: null };
  if (last.value * slope <= 0) return still;
  for (let ahead = 1; ahead <= horizonHours; ahead += 1) {
    const usual = usualAt(cycle, hour + ahead);
    if (usual === undefined) continue;
    const expected = usual + last.value + slope * ahead;
    if (slope > 0 ? expected > band.high : expected < band.low) return { ...still, hoursToLeave: ahead };
  }
  return still;
}

/** In units an hour; 0 when the pairs do not agree on a direction. */
function cautiousSlope(points: readonly { hour: number; value: number }[]): number {
  const slopes = new Float64Array((points.length * (points.length - 1)) / 2);
  let count = 0;
  for (const [i, a] of points.entries()) {
    for (let j = i + 1; j < points.length; j += 1) {
      const b = points[j]!;
      slopes[count] = (b.value - a.value) / (b.hour - a.hour);
      count += 1;
    }
  }
  slopes.sort();
  const low = slopes[Math.floor(cautiousShare * (slopes.length - 1))]!;
  const high = slopes[Math.ceil((1 - cautiousShare) * (slopes.length - 1))]!;
  return low > 0 ? low : Math.min(high, 0);
}

/** The estimator knows more than one stream: for a day after it spoke, the stream's own drift is not judged. */
const forecastHoldsMs = 24 * hourMs;
/**
 * Four in five: a forecast less sure than that is not worth an alarm, one below three in five takes it back.
 * @source common practice, no published source
 */
export const sureEnough = 0.8;
const unsure = 0.6;
/** Less than this ahead a forecast of days tells no time. @source common practice, no published source */
const soonHours = 0.5;

/** `above its band of 7.3 to 8.8 dKH within 3 h`; `by now` when the estimate is there already. */
function whereText(side: 'low' | 'high' | undefined, band: string, hours: number): string {
  const where = side === undefined ? 'out of' : side === 'high' ? 'above' : 'below';
  return `${where} its band of ${band} ${hours < soonHours ? 'by now' : `within ${durationText(hours * hourMs)}`}`;
}

/** Nothing that is yet to come is certain. */
function chanceText(probability: number): string {
  const inHundred = Math.round(probability * 100);
  return inHundred >= 100 ? 'more than 99 in 100' : `${inHundred} in 100`;
}

/** What the estimator expects; it takes the place of the stream's own drift. */
function ofForecast({ plan, settings, forecast }: Asked & { forecast: ForecastEvidence }): Judged | undefined {
  const { metric, band, units } = plan;
  if (band === undefined) return undefined;
  const { hoursToLeave, probability, side } = forecast;
  const hours = hoursToLeave ?? Number.POSITIVE_INFINITY;
  const byTime = conditionBelow(hours, settings.limit, settings.deadband);
  const condition: Condition =
    byTime === 'normal' || probability < unsure ? 'normal' : probability < sureEnough ? 'deadband' : byTime;
  const { label } = metricFacts[metric];
  return {
    condition,
    raised: () =>
      `${label} is likely to be ${whereText(side, bandText(metric, band, units), hours)} (${chanceText(probability)}). Test it, then see today's advice.`,
    cleared: () => `${label} is no longer expected to leave its band soon.`,
  };
}

export const drift: AlarmKind<'drift', 'drift', 'forecast'> = {
  id: 'drift',
  means: 'It is still inside its band, but on this trend will leave it within two days.',
  firstLook: 'a slow cause: evaporation, an ageing probe, dosing that no longer matches the use. Test by hand.',
  appliesTo: 'metric',
  hasDeadband: true,
  onStream: {
    drift: {
      slot: 4,
      // Two days ahead is time enough to act by day; sooner alarms would come from the weather.
      defaults: ({ band, facts }) =>
        band && {
          ...onMedians,
          priority: 'medium',
          isEnabled: facts.departureShare !== undefined,
          limit: 48,
          deadband: 24,
          onDelayMs: 2 * hourMs,
          offDelayMs: 6 * hourMs,
          gapToleranceMs: 3 * hourMs,
        },
      judge: {
        each: 'median',
        condition({ room, stream: { series, plan }, settings, timeMs, isHourOver }) {
          if (!isHourOver || plan.band === undefined) return undefined;
          const forecastMs = room.analytes.get(`${series.system}/${series.metric}`)?.forecastMs ?? null;
          const isForecast = forecastMs !== null && room.nowMs - forecastMs < forecastHoldsMs;
          const walk = walkOf(series.cycle, plan.band, Math.floor(timeMs / hourMs) - 1);
          if (walk === undefined && !isForecast) return undefined;
          series.figures.perDay = walk?.perDay ?? 0;
          series.figures.hoursToLeave = walk?.hoursToLeave ?? null;
          const hours = isForecast ? null : series.figures.hoursToLeave;
          return hours === null ? 'normal' : conditionBelow(hours, settings.limit, settings.deadband);
        },
      },
      isTrueNow: ({ hoursToLeave }) => hoursToLeave !== null,
      hiddenBy: { by: ['above', 'below', 'rate', 'swing', 'departure', 'impossible', 'flat'], forMs: 24 * hourMs },
      raised({ name, value, metric, units, figures, edges }) {
        const way = figures.perDay > 0 ? 'rises' : 'falls';
        const hours = durationText((figures.hoursToLeave ?? 0) * hourMs);
        const check = firstCheck(metric, figures.perDay > 0 ? 'high' : 'low');
        return `${name} slowly ${way}, about ${amountText(metric, Math.abs(figures.perDay), units)} a day, and may leave the band ${edges} in ${hours}; it is ${value} now. ${check}`;
      },
    },
  },
  elsewhere: {
    forecast: {
      idEnd: '/forecast',
      defaults: ({ band }) => band && { ...untilNext, priority: 'medium', limit: 48, deadband: 12 },
      judge: { each: 'forecast', of: ofForecast },
    },
  },
};
