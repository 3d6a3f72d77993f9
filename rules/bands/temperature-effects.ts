import type { Metric } from '../quantity/metric.ts';
import type { SlotName } from './kinds/list.ts';
import type { Stream } from './room-index.ts';

/**
 * How much a metric may move for each °C that the temperature (or what its probe says of it) is off. From memory of the
 * seawater tables, rounded up: pH of sea water falls about 0.015 a °C; conductivity rises about 2 % a °C, and a salinity
 * computed with a temperature that is 1 °C wrong is wrong by about 2 % of 35.
 */
const perDegree: Partial<Record<Metric, number>> = {
  ph: 0.02,
  conductivity: 1.3,
  specific_conductance_25: 1.3,
  salinity: 0.85,
  specific_gravity: 0.0008,
};

/** True when the alarm is no larger than what the temperature explains by itself. */
export function followsTemperature(temperature: Stream, effect: Stream, slot: SlotName): boolean {
  const factor = perDegree[effect.series.metric];
  const { band } = temperature.plan;
  const degrees = temperature.series.goodValue;
  if (factor === undefined || band === undefined || degrees === null) return false;
  const size = sizeOf(effect, slot);
  if (size === undefined) return false;
  const off = Math.max(Math.abs(degrees - (band.low + band.high) / 2), Math.abs(temperature.series.figures.moveInHour));
  return size <= factor * off;
}

/** How far the effect lies beyond its limit, in its metric's unit; undefined for alarms that are not about a move. */
function sizeOf(effect: Stream, slot: SlotName): number | undefined {
  const { series, plan } = effect;
  const { figures, goodValue } = series;
  switch (slot) {
    case 'above':
      return plan.band === undefined || goodValue === null ? undefined : goodValue - plan.band.high;
    case 'below':
      return plan.band === undefined || goodValue === null ? undefined : plan.band.low - goodValue;
    case 'rate':
      return Math.abs(figures.moveInHour);
    case 'swing':
      return figures.swing - (plan.stream.swing?.limit ?? 0);
    case 'departure':
      return Math.abs(figures.distanceFromUsual);
    default:
      return undefined;
  }
}
