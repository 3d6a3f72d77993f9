import { finite } from '../quantity/finite.ts';
import type { Metric } from '../quantity/metric.ts';
import { OutOfRange, within } from '../quantity/out-of-range.ts';

/**
 * What mixes by volume: amounts that only move with the water, and heat, whose capacity differs by 4 % at most between fresh
 * and salt water. pH, pCO2 and saturation do not mix so, nor do conductivity, density and ORP: they follow from the mixture.
 */
export const mixedMetrics = [
  'temperature',
  'salinity',
  'alkalinity',
  'calcium',
  'magnesium',
  'nitrate',
  'phosphate',
  'potassium',
  'iodide',
] as const satisfies readonly Metric[];

export type MixedMetric = (typeof mixedMetrics)[number];

/** What is known of a water, in store units. A metric that is absent is not known, which is not 0. */
export type MixedWater = Partial<Record<MixedMetric, number>>;

/**
 * How water is exchanged. `drain_then_fill`: out first, then in. `continuous`: in and out at once and well stirred, so that
 * some of the new water leaves again: less change for as many litres.
 */
export type ExchangeMethod = 'drain_then_fill' | 'continuous';

/**
 * Two waters poured together. A metric that one of them lacks is absent from the mixture.
 *
 * @param oneL, otherL  volumes, 0 to 10,000,000 L, not both 0
 * @throws OutOfRange  outside these limits, or for a metric that is not finite
 */
export function mix(one: MixedWater, oneL: number, other: MixedWater, otherL: number): MixedWater {
  const volumeL = within('volume, L', oneL, 0, 1e7) + within('volume, L', otherL, 0, 1e7);
  if (volumeL === 0) throw new OutOfRange('mixed volume, L', 0, 'above 0');
  return blend(one, other, otherL / volumeL);
}

/**
 * The tank after a water change at constant volume.
 *
 * @param volumeL     true volume of the tank, 0.1 to 10,000,000 L
 * @param exchangedL  0 up to the volume; for `continuous` up to 100 volumes
 * @throws OutOfRange  outside these limits, or for a metric that is not finite
 */
export function afterWaterChange(
  tank: MixedWater,
  volumeL: number,
  incoming: MixedWater,
  exchangedL: number,
  method: ExchangeMethod = 'drain_then_fill',
): MixedWater {
  return blend(tank, incoming, shareReplaced(volumeL, exchangedL, method));
}

/**
 * Share of the tank that is new water after an exchange.
 *
 * @returns 0 to 1
 * @throws OutOfRange  as `afterWaterChange`
 */
export function shareReplaced(volumeL: number, exchangedL: number, method: ExchangeMethod): number {
  const volume = within('volume, L', volumeL, 0.1, 1e7);
  if (method === 'drain_then_fill') return within('exchanged, L', exchangedL, 0, volume) / volume;
  return -Math.expm1(-within('exchanged, L', exchangedL, 0, 100 * volume) / volume);
}

function blend(one: MixedWater, other: MixedWater, share: number): MixedWater {
  return forEachMetric(one, (metric, value) => {
    const incoming = other[metric];
    return incoming === undefined ? undefined : value * (1 - share) + finite(metric, incoming) * share;
  });
}

function forEachMetric(
  water: MixedWater,
  change: (metric: MixedMetric, value: number) => number | undefined,
): MixedWater {
  const changed: MixedWater = {};
  for (const metric of mixedMetrics) {
    const value = water[metric];
    const after = value === undefined ? undefined : change(metric, finite(metric, value));
    if (after !== undefined) changed[metric] = after;
  }
  return changed;
}
