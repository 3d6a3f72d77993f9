import { toStoreUnit } from '#rules/quantity/unit.ts';
import type { BoundProbe } from './bound-probe.ts';

/**
 * Stage "unit": the number in the metric's store unit, or in mV for the potential of a pH electrode. The payload's own unit
 * wins over the configured one. Gives undefined for a unit that this metric cannot have: the number then means something
 * else and is not used.
 */
export function inStoreUnit(probe: BoundProbe, value: number, statedUnit: string | undefined): number | undefined {
  const unit = statedUnit ?? probe.unit;
  if (unit === undefined || unit === '') return value;
  // The potential of an electrode counts as a redox potential does.
  const metric = probe.electrode?.signal === 'mV' ? 'orp' : probe.series.metric;
  try {
    return toStoreUnit(metric, value, unit);
  } catch {
    return undefined;
  }
}
