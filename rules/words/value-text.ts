import type { Band, KeepersUnits } from '../quantity/band.ts';
import { type Metric, metricFacts } from '../quantity/metric.ts';
import { fromStoreUnit, isUnitOf } from '../quantity/unit.ts';
import { commonSalinity } from '../seawater/at-salinity.ts';
import { specificGravity25FromSalinity } from '../seawater/specific-gravity.ts';

/** How numbers and times are put into an alarm's sentence, in the units that the keeper asked for. */

/** Salinity as hydrometers and refractometers show it: specific gravity, water and pure water at 25 °C. */
const asSpecificGravity = 'sg';
const specificGravityDecimals = 4;
/** Beyond it no hydrometer reads, and salt crystals on a probe have no specific gravity: the store's unit says it then. */
const specificGravityHolds = { low: 2, high: 42 };

/** True for a unit in which a person may want to see this metric. */
export function isDisplayUnit(metric: Metric, unit: string): boolean {
  return isUnitOf(metric, unit) || (metric === 'salinity' && unit === asSpecificGravity);
}

type Shown = { unit: string; decimals: number; of(value: number): number };

/** The way a metric is shown: in the keeper's unit, else in the store's. */
export function shownAs(metric: Metric, value: number, units: KeepersUnits): Shown {
  const facts = metricFacts[metric];
  const unit = units[metric];
  if (unit === undefined) return { unit: facts.unit, decimals: facts.decimals, of: (each) => each };
  if (metric === 'salinity' && unit === asSpecificGravity) {
    return value >= specificGravityHolds.low && value <= specificGravityHolds.high
      ? { unit: asSpecificGravity, decimals: specificGravityDecimals, of: specificGravity25FromSalinity }
      : { unit: facts.unit, decimals: facts.decimals, of: (each) => each };
  }
  const of = (each: number) => fromStoreUnit(metric, each, unit);
  // A unit ten times smaller needs a decimal less to say the same.
  const shift = -Math.round(Math.log10(Math.abs(of(1) - of(0))));
  return { unit, decimals: Math.max(0, facts.decimals + shift), of };
}

/** A value with its unit, e.g. `26.90 °C`. @param value  in the metric's store unit */
export function valueText(metric: Metric, value: number, units: KeepersUnits): string {
  const shown = shownAs(metric, value, units);
  return withUnit(shown.of(value).toFixed(shown.decimals), shown.unit);
}

/** A difference or a limit as a person would write it, e.g. `0.5 °C`. @param amount  in the metric's store unit */
export function amountText(metric: Metric, amount: number, units: KeepersUnits): string {
  // A difference in specific gravity is that between the common salinity and one so much higher.
  const from = metric === 'salinity' ? commonSalinity : 0;
  const shown = shownAs(metric, from, units);
  const difference = Math.abs(shown.of(from + amount) - shown.of(from)) * Math.sign(amount);
  return withUnit(String(Number(difference.toFixed(shown.decimals + 1))), shown.unit);
}

/** The edges as the keeper wrote them, e.g. `25 to 26.5 °C`. */
export function bandText(metric: Metric, band: Band, units: KeepersUnits): string {
  const edge = (value: number) => {
    const shown = shownAs(metric, value, units);
    return String(Number(shown.of(value).toFixed(shown.decimals + 1)));
  };
  return withUnit(`${edge(band.low)} to ${edge(band.high)}`, shownAs(metric, band.low, units).unit);
}

/** How long, coarse enough to be read at a glance, e.g. `5 min`, `3 h`, `2 days`. */
export function durationText(durationMs: number): string {
  const minutes = Math.round(durationMs / 60_000);
  if (minutes < 1) return 'less than a minute';
  if (minutes < 120) return `${minutes} min`;
  const hours = Math.round(minutes / 60);
  if (hours < 48) return `${hours} h`;
  return `${Math.round(hours / 24)} days`;
}

function withUnit(number: string, unit: string): string {
  return unit === '' ? number : `${number} ${unit}`;
}
