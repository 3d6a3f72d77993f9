import { meqPerLPerDkh } from '../quantity/alkalinity-unit.ts';
import { atomicWeight_g_mol, calciumCarbonate_g_mol } from '../quantity/atomic-weights.ts';
import { finite } from '../quantity/finite.ts';

/**
 * What laying down calcium carbonate takes from the water: Ca + 2 HCO3 -> CaCO3 + CO2 + H2O, so 2 equivalents of
 * alkalinity and 1 mole of DIC for each mole of calcium. Magnesium in the skeleton is left out. Any finite number
 * converts; every function throws OutOfRange for NaN or an infinity.
 *
 * @source stoichiometry, atomic weights IUPAC 2021; checked against fixtures/reference/unit-conversions.csv
 */

/** Calcium used with a fall of alkalinity, mg/L: 20.039 for each meq/L. */
export function calciumUsed_mg_LFromAlkalinityUsed(alkalinityUsed_meq_L: number): number {
  return finite('calcium used, mg/L', (alkalinityUsed_meq_L / 2) * atomicWeight_g_mol.Ca);
}

/** Alkalinity used with a fall of calcium, dKH. */
export function alkalinityUsed_dKHFromCalciumUsed(calciumUsed_mg_L: number): number {
  return finite('alkalinity used, dKH', ((calciumUsed_mg_L / atomicWeight_g_mol.Ca) * 2) / meqPerLPerDkh);
}

/** Calcium carbonate laid down with a fall of alkalinity, mg in each litre of the water: 50.043 for each meq/L. */
export function calciumCarbonateFormed_mg_LFromAlkalinityUsed(alkalinityUsed_meq_L: number): number {
  return finite('calcium carbonate formed, mg/L', (alkalinityUsed_meq_L / 2) * calciumCarbonate_g_mol);
}

/** Alkalinity used for calcium carbonate laid down, mg in each litre of the water, dKH. */
export function alkalinityUsed_dKHFromCalciumCarbonateFormed(formed_mg_L: number): number {
  return finite('alkalinity used, dKH', ((formed_mg_L / calciumCarbonate_g_mol) * 2) / meqPerLPerDkh);
}

/** DIC used with a fall of alkalinity, µmol/L: the half of it, the CO2 that is set free already counted. */
export function dicUsed_umol_LFromAlkalinityUsed(alkalinityUsed_meq_L: number): number {
  return finite('DIC used, µmol/L', (alkalinityUsed_meq_L / 2) * 1000);
}
