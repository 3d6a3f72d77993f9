import { toStoreUnit } from '#rules/quantity/unit.ts';
import type { BoundProbe } from './bound-probe.ts';

/**
 * Stage "unit": the number in the metric's store unit. The payload's own unit wins over the configured one.
 * Gives undefined for a unit that this metric cannot have: the number then means something else and is not used.
 */
export function inStoreUnit(probe: BoundProbe, value: number, statedUnit: string | undefined): number | undefined {
  const unit = statedUnit ?? probe.unit;
  if (unit === undefined || unit === '') return value;
  try {
    return toStoreUnit(probe.series.metric, value, unit);
  } catch {
    return undefined;
  }
}
