import { calciumCarbonate_g_mol, calciumOxide_g_mol } from './atomic-weights.ts';
import { finite } from './finite.ts';

/**
 * Units of alkalinity. All are amounts in a litre of water at its own temperature, and any finite number converts, so that
 * a change may be negative. Every function throws OutOfRange for NaN or an infinity.
 *
 * @source 1 degree of German carbonate hardness (dKH) = 10 mg/L CaO, 2 equivalents a mole; atomic weights IUPAC 2021.
 *   Checked against fixtures/reference/unit-conversions.csv
 */

/** meq/L in 1 dKH: 0.356652. */
export const meqPerLPerDkh = (2 * 10) / calciumOxide_g_mol;

/** mg/L CaCO3 in 1 meq/L: 50.043. */
export const mgPerLCaCO3PerMeqPerL = calciumCarbonate_g_mol / 2;

/** meq/L from dKH. */
export function meqPerLFromDkh(alkalinity_dKH: number): number {
  return finite('alkalinity, meq/L', alkalinity_dKH * meqPerLPerDkh);
}

/** dKH from meq/L: 2.80385 times. */
export function dkhFromMeqPerL(alkalinity_meq_L: number): number {
  return finite('alkalinity, dKH', alkalinity_meq_L / meqPerLPerDkh);
}
