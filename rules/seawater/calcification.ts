import { atomicWeight_g_mol } from '../quantity/atomic-weights.ts';
import { finite } from '../quantity/finite.ts';

/**
 * Calcium used with a fall of alkalinity, mg/L: 20.039 for each meq/L. Laying down calcium carbonate takes 2 equivalents of
 * alkalinity for each mole of calcium, Ca + 2 HCO3 -> CaCO3 + CO2 + H2O; magnesium in the skeleton is left out.
 *
 * @throws OutOfRange  for NaN or an infinity
 * @source stoichiometry, atomic weights IUPAC 2021; checked against fixtures/reference/unit-conversions.csv
 */
export function calciumUsed_mg_LFromAlkalinityUsed(alkalinityUsed_meq_L: number): number {
  return finite('calcium used, mg/L', (alkalinityUsed_meq_L / 2) * atomicWeight_g_mol.Ca);
}
