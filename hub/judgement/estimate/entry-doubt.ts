import type { Analyte } from '#rules/quantity/metric.ts';
import { demandAnalytes } from '#rules/trend/demand-facts.ts';
import { questionTest } from '#rules/trend/plausible-test.ts';
import type { SystemConfig } from '../../model/config/schema.ts';
import { risesOfDose } from './dose-rise.ts';

/** More of the water than this at once is a rescue or a slip. common practice, no published source */
const largeShare = 0.5;
/** A single dose that lifts the water by more than this is one to ask about, where no band says how much a day may move it. */
const usualMostPerDay = { alkalinity: 1.4, calcium: 40, magnesium: 100 };
const units = { alkalinity: 'dKH', calcium: 'mg/L', magnesium: 'mg/L' };

/** New water as a person gives it with a water change: dKH, mg/L, practical salinity. */
export type NewWater = {
  volume_l: number;
  alkalinity_dkh?: number | undefined;
  calcium_mg_l?: number | undefined;
  magnesium_mg_l?: number | undefined;
  salinity?: number | undefined;
};

/** A doubt about a water change in words for the person; undefined when it looks right. */
export function questionWaterChange(system: SystemConfig, water: NewWater): string | undefined {
  const given: [Analyte, number | undefined, string][] = [
    ['alkalinity', water.alkalinity_dkh, 'dKH'],
    ['calcium', water.calcium_mg_l, 'mg/L'],
    ['magnesium', water.magnesium_mg_l, 'mg/L'],
    // Fresh water is put in on purpose.
    ['salinity', water.salinity === 0 ? undefined : water.salinity, ''],
  ];
  for (const [analyte, value, unit] of given) {
    const ask = value === undefined ? undefined : questionTest(analyte, value, unit)?.ask;
    if (ask !== undefined) return `New water. ${ask}`;
  }
  if (water.volume_l > largeShare * system.volume_l) {
    const share = Math.round((100 * water.volume_l) / system.volume_l);
    return `${water.volume_l} L is ${share} % of the ${system.volume_l} L of ${system.name}. Is the number right?`;
  }
  return undefined;
}

/**
 * A doubt about a dose that was given, in words for the person; undefined when it looks right: ten times a usual one is a
 * decimal point, and every estimate after it would be wrong.
 *
 * @param body  `stock` and `ml`, or `substance` and `grams`
 */
export function questionDose(system: SystemConfig, body: Record<string, unknown>): string | undefined {
  // A copy: what is kept by body must not remember one that was never stored.
  const rises = risesOfDose(system, { ...body });
  for (const analyte of demandAnalytes) {
    const most = 2 * (system.bands[analyte]?.most_per_day ?? usualMostPerDay[analyte]);
    const rise = rises[analyte] ?? 0;
    if (rise > most) {
      return (
        `This would raise ${analyte} by ${rise.toPrecision(2)} ${units[analyte]} at once, ` +
        `more than two days may. Is the number right?`
      );
    }
  }
  return undefined;
}
