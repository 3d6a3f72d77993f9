import { type Metric, metricFacts } from '#rules/quantity/metric.ts';
import { fromStoreUnit, isUnitOf } from '#rules/quantity/unit.ts';
import { specificGravity25FromSalinity } from '#rules/seawater/specific-gravity.ts';

/** Salinity as hydrometers and refractometers show it: specific gravity, water and pure water at 25 °C. */
const asSpecificGravity = 'sg';

/** True for a unit in which a person may want to see this metric. */
export function isDisplayUnit(metric: Metric, unit: string): boolean {
  return isUnitOf(metric, unit) || (metric === 'salinity' && unit === asSpecificGravity);
}

/**
 * A value in the unit that the keeper asked for, e.g. `81.3 °F`; undefined when none is asked for or there is no value. The
 * sentences of the rules stay in the store's units.
 *
 * @param value  in the metric's store unit
 * @param units  by metric, as the configuration's `display_units`
 */
export function inKeepersUnit(
  metric: Metric | '',
  value: number | undefined,
  units: Partial<Record<Metric, string>>,
): string | undefined {
  const unit = metric === '' ? undefined : units[metric];
  if (metric === '' || unit === undefined || value === undefined) return undefined;
  // Out of the range of the conversion (salt crystals on a probe) the sentence still has its own value.
  if (metric === 'salinity' && unit === asSpecificGravity)
    return value >= 2 && value <= 42 ? `sg ${specificGravity25FromSalinity(value).toFixed(4)}` : undefined;
  const digits = Math.max(0, metricFacts[metric].decimals + decimalShift(metric, unit));
  return `${fromStoreUnit(metric, value, unit).toFixed(digits)} ${unit}`;
}

/** A unit ten times smaller needs a decimal less to say the same. */
function decimalShift(metric: Metric, unit: string): number {
  const size = Math.abs(fromStoreUnit(metric, 1, unit) - fromStoreUnit(metric, 0, unit));
  return -Math.round(Math.log10(size));
}
