import { within } from '../quantity/out-of-range.ts';
import type { WaterSample } from '../seawater/ph-scale.ts';

/** Molar masses behind "mg/L of nitrogen" and "mg/L of NH3", g/mol. @source IUPAC 2021 abridged weights: N 14.007, H 1.008 */
const nitrogen_g_mol = 14.007;
const ammonia_g_mol = 14.007 + 3 * 1.008;

/**
 * pK of ammonium in seawater, total scale, mol/kg of solution: [NH3][H] = K [NH4].
 *
 * The published fit is in mol/kg of water; the last term turns it into mol/kg of solution.
 *
 * @param water  salinity 0 to 40 (no unit), temperature −2 to 40 °C
 * @throws OutOfRange  outside these limits
 * @source Clegg & Whitfield 1995, Geochim. Cosmochim. Acta 59:2403–2421; coefficients from memory, held to Bates & Pinching
 *   (1950) and Emerson et al. (1975) in fresh water and to Yao & Millero (1995) in seawater by the tests
 */
export function ammoniumPkCleggWhitfield1995(water: WaterSample): number {
  const T = within('temperature, °C', water.temperature_C, -2, 40) + 273.15;
  const S = within('practical salinity', water.salinity, 0, 40);
  const rootT = Math.sqrt(T);
  const perKgWater =
    9.244605 -
    2729.33 * (1 / 298.15 - 1 / T) +
    (0.04203362 - 11.24742 / T) * S ** 0.25 +
    (-13.6416 + 1.176949 * rootT - 0.02860785 * T + 545.4834 / T) * S ** 0.5 +
    (-0.1462507 + 0.0090226468 * rootT - 0.0001471361 * T + 10.5425 / T) * S ** 1.5 +
    (0.004669309 - 0.0001691742 * rootT - 0.5677934 / T) * S ** 2 +
    (-2.354039e-5 + 0.009698623 / T) * S ** 2.5;
  return perKgWater - Math.log10(1 - 0.001005 * S);
}

/**
 * Part of the total ammonia that is free (NH3), which harms, and not ammonium (NH4+).
 *
 * @param phTotal  on the total scale, 2 to 12; a reading of an aquarium electrode goes through convertPh first
 * @param water    salinity 0 to 40, temperature −2 to 40 °C
 * @returns 0 to 1
 * @throws OutOfRange  outside these limits
 * @source mass action with ammoniumPkCleggWhitfield1995
 */
export function freeAmmoniaShare(phTotal: number, water: WaterSample): number {
  return 1 / (1 + 10 ** (ammoniumPkCleggWhitfield1995(water) - within('pH', phTotal, 2, 12)));
}

/**
 * Free ammonia in mg/L of NH3 from a test for total ammonia.
 *
 * @param totalAmmonia_mg_L_N  total ammonia as nitrogen, 0 to 100 mg/L
 * @param share                as freeAmmoniaShare gives it, 0 to 1
 * @throws OutOfRange  outside these limits
 */
export function freeAmmonia_mg_L(totalAmmonia_mg_L_N: number, share: number): number {
  const nitrogen = within('total ammonia, mg/L N', totalAmmonia_mg_L_N, 0, 100);
  return (nitrogen * within('share of free ammonia', share, 0, 1) * ammonia_g_mol) / nitrogen_g_mol;
}
