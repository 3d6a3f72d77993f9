import type { KeepersUnits } from '../bands/watched-room.ts';
import { OutOfRange, within } from '../quantity/out-of-range.ts';
import { amountText, valueText } from '../words/value-text.ts';

/** What is compared before new water is used: °C, practical salinity, dKH. */
export const matchedMetrics = ['temperature', 'salinity', 'alkalinity'] as const;

export type MatchedMetric = (typeof matchedMetrics)[number];

export type NewWater = Partial<Record<MatchedMetric, number>>;

/** How far new water may be from the tank's. @source common practice, no published source */
export const matchTolerances: Readonly<Record<MatchedMetric, number>> = {
  temperature: 1,
  salinity: 0.5,
  alkalinity: 1,
};

export type MetricMatch = {
  metric: MatchedMetric;
  verdict: 'matches' | 'differs' | 'not_known';
  /** New water less tank, when both are known. */
  difference?: number;
  /** For the person. */
  text: string;
};

export type BatchMatch = { isReady: boolean; metrics: MetricMatch[] };

const whatToDo: Readonly<Record<MatchedMetric, [tooLow: string, tooHigh: string]>> = {
  temperature: ['Warm it.', 'Let it cool.'],
  salinity: ['Add salt, let it dissolve and measure again.', 'Add fresh water, mix and measure again.'],
  alkalinity: ['Raise it, or use less of it at once.', 'Use less of it at once, or another salt.'],
};
/** Outside these a number is a slip of the pen, and no water. Chosen here, wide enough for fresh water and brine. */
const edges: Readonly<Record<MatchedMetric, [number, number]>> = {
  temperature: [0, 40],
  salinity: [0, 60],
  alkalinity: [0, 40],
};

/**
 * Whether made-up water may be used: every metric measured in both waters and near enough.
 *
 * @param batch, tank  temperature 0 to 40 °C, salinity 0 to 60, alkalinity 0 to 40 dKH; one that is absent is not known
 * @param tolerances   each above 0
 * @param units        in which the texts speak
 * @throws OutOfRange  outside these limits
 */
export function batchMatch(
  batch: NewWater,
  tank: NewWater,
  tolerances: Readonly<Record<MatchedMetric, number>> = matchTolerances,
  units: KeepersUnits = {},
): BatchMatch {
  const metrics = matchedMetrics.map((metric): MetricMatch => {
    const tolerance = tolerances[metric];
    if (!(tolerance > 0)) throw new OutOfRange(`tolerance of ${metric}`, tolerance, 'above 0');
    const [inBatch, inTank] = [known(metric, batch), known(metric, tank)];
    if (inBatch === undefined || inTank === undefined) {
      const where = inBatch === undefined ? 'the new water' : 'the tank';
      return { metric, verdict: 'not_known', text: `The ${metric} of ${where} is not known: measure it first.` };
    }
    const difference = inBatch - inTank;
    const say = (value: number) => valueText(metric, value, units);
    // A hair wide, so that 26.3 less 25.3 is the one degree that it says and not more.
    if (Math.abs(difference) <= tolerance + 1e-9) {
      return {
        metric,
        verdict: 'matches',
        difference,
        text: `The ${metric} matches: ${say(inBatch)}, the tank ${say(inTank)}.`,
      };
    }
    const text = `The ${metric} is ${say(inBatch)}, the tank's ${say(inTank)}: more than ${amountText(metric, tolerance, units)} apart. ${whatToDo[metric][difference < 0 ? 0 : 1]}`;
    return { metric, verdict: 'differs', difference, text };
  });
  return { isReady: metrics.every(({ verdict }) => verdict === 'matches'), metrics };
}

function known(metric: MatchedMetric, water: NewWater): number | undefined {
  const value = water[metric];
  return value === undefined ? undefined : within(metric, value, ...edges[metric]);
}
