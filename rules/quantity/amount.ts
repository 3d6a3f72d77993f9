import { finite } from './finite.ts';
import { within } from './out-of-range.ts';

/**
 * µmol/kg from mmol/L; µeq/kg from meq/L in the same way. Formulas of the carbonate system take amounts by the kilogram of
 * seawater.
 *
 * @param density_kg_L  of the water at the temperature at which its volume was measured, 0.9 to 1.2 kg/L
 * @throws OutOfRange  for NaN, an infinity or another density
 * @source definition; checked against fixtures/reference/unit-conversions.csv
 */
export function umolPerKgFromMmolPerL(concentration_mmol_L: number, density_kg_L: number): number {
  const density = within('density, kg/L', density_kg_L, 0.9, 1.2);
  return finite('concentration, µmol/kg', (1000 * concentration_mmol_L) / density);
}
