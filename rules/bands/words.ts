import { type Metric, metricFacts } from '../quantity/metric.ts';
import type { Band } from './watched-room.ts';

/** How numbers and times are put into an alarm's sentence. */

/** A value with its unit, e.g. `26.90 °C`; in the metric's store unit. */
export function valueText(metric: Metric, value: number): string {
  const { unit, decimals } = metricFacts[metric];
  return withUnit(value.toFixed(decimals), unit);
}

/** A difference or a limit as a person would write it, e.g. `0.5 °C`. */
export function amountText(metric: Metric, amount: number): string {
  const { unit, decimals } = metricFacts[metric];
  return withUnit(String(Number(amount.toFixed(decimals + 1))), unit);
}

/** The edges as the keeper wrote them, e.g. `25 to 26.5 °C`. */
export function bandText(metric: Metric, band: Band): string {
  return withUnit(`${band.low} to ${band.high}`, metricFacts[metric].unit);
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
