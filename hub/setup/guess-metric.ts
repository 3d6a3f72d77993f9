import { defaultChecks } from '#rules/quality/default-checks.ts';
import type { Metric } from '#rules/quantity/metric.ts';
import { isUnitOf, toStoreUnit } from '#rules/quantity/unit.ts';

export type Guess = {
  metric: Metric;
  /** To configure, where the payload says none and it is not the metric's own. */
  unit?: string;
  /** In the metric's store unit. */
  value: number;
  /** By its name or stated unit, or only since such a value is common for it. */
  by: 'name' | 'value';
};

/** Words that probes call themselves by. Common practice, no published source. */
const words: readonly [Metric, RegExp][] = [
  ['specific_conductance_25', /^(ec25|sc|specific_?conductance|cond25)$/],
  ['temperature', /^(t|tmp|temp|temps|temperature|watertemp|water_temperature|tc|tf)\d*$/],
  ['ph', /^ph\d*$/],
  ['conductivity', /^(ec|cond|conductivity)\d*$/],
  ['salinity', /^(s|sal|salt|salinity|psu|ppt)\d*$/],
  ['specific_gravity', /^(sg|gravity|specific_?gravity)\d*$/],
  ['orp', /^(orp|redox)\d*$/],
  ['level', /^(lvl|level|water_?level)\d*$/],
  ['par', /^(par|ppfd)\d*$/],
  ['pco2', /^pco2$/],
  ['room_co2', /^(co2|room_?co2|air_?co2)$/],
  ['alkalinity', /^(alk|alkalinity|kh|dkh)$/],
  ['calcium', /^(ca|calcium)$/],
  ['magnesium', /^(mg|magnesium)$/],
];

/** Units that name a metric by themselves. */
const unitsOfOneMetric: readonly [Metric, RegExp][] = [
  ['temperature', /^(°?c|cel|degc|°?f|degf)$/i],
  ['conductivity', /^([mµu]s\/cm|ms\/m|s\/m)$/i],
];

/** Other units that a probe without a word of its unit is known to send, tried when its own unit makes no sense. */
const otherUnits: Partial<Record<Metric, readonly string[]>> = {
  conductivity: ['µS/cm', 'S/m'],
  specific_conductance_25: ['µS/cm', 'S/m'],
  temperature: ['°F'],
  level: ['cm'],
};

/**
 * What kind of water a nameless number may be: ranges that overlap in no reef tank. Common practice, no published source.
 */
const byValue: readonly [Metric, number, number][] = [
  ['ph', 7.4, 8.9],
  ['temperature', 18, 31.5],
  ['conductivity', 42, 62],
  ['specific_gravity', 1.018, 1.03],
];

/**
 * What a number heard on a line or a topic is likely to be.
 *
 * @param names  from the most to the least telling: the channel, then the levels of the topic from its end
 * @param unit   as the payload states it
 * @returns undefined where nothing speaks for any metric, or the value is one that no reef tank has
 */
export function guessMetric(names: readonly string[], value: number, unit: string | undefined): Guess | undefined {
  for (const name of names) {
    // Only the last word of a path names what is measured: `display/t`, `sensors.water.ph`.
    const word =
      name
        .toLowerCase()
        .split(/[/.:-]/)
        .at(-1) ?? '';
    const parts = [word, word.split('_').at(-1) ?? ''];
    const metric = words.find(([, pattern]) => parts.some((part) => pattern.test(part)))?.[0];
    if (metric !== undefined) return plausible(metric, value, unit, 'name');
  }
  if (unit !== undefined && unit !== '') {
    const metric = unitsOfOneMetric.find(([, pattern]) => pattern.test(unit))?.[0];
    return metric === undefined ? undefined : plausible(metric, value, unit, 'name');
  }
  const metric = byValue.find(([, low, high]) => value >= low && value <= high)?.[0];
  return metric === undefined ? undefined : { metric, value, by: 'value' };
}

function plausible(metric: Metric, value: number, stated: string | undefined, by: Guess['by']): Guess | undefined {
  if (stated !== undefined && stated !== '') {
    if (!isUnitOf(metric, stated)) return undefined;
    const stored = toStoreUnit(metric, value, stated);
    return isLikely(metric, stored) ? { metric, value: stored, by } : undefined;
  }
  if (isLikely(metric, value)) return { metric, value, by };
  for (const unit of otherUnits[metric] ?? []) {
    const stored = toStoreUnit(metric, value, unit);
    if (isLikely(metric, stored)) return { metric, unit, value: stored, by };
  }
  return undefined;
}

/** Neither refused nor doubted by the checks that every reading goes through. */
function isLikely(metric: Metric, value: number): boolean {
  const { failBelow, failAbove, suspectBelow, suspectAbove } = defaultChecks(metric);
  const low = Math.max(failBelow ?? Number.NEGATIVE_INFINITY, suspectBelow ?? Number.NEGATIVE_INFINITY);
  const high = Math.min(failAbove ?? Number.POSITIVE_INFINITY, suspectAbove ?? Number.POSITIVE_INFINITY);
  return value >= low && value <= high;
}
