import { atomicWeight_g_mol, calciumCarbonate_g_mol, type Element } from './atomic-weights.ts';
import { finite } from './finite.ts';
import { within } from './out-of-range.ts';

/**
 * Amounts of a dissolved substance: mass or moles in a litre, and moles in a kilogram of seawater, which is what the
 * formulas of the carbonate system take. Every function throws OutOfRange for NaN or an infinity.
 */

/** mmol/L from mg/L. @param molarMass_g_mol  of the ion or compound counted, 1 to 1e6 g/mol */
export function mmolPerLFromMgPerL(concentration_mg_L: number, molarMass_g_mol: number): number {
  return finite('concentration, mmol/L', concentration_mg_L / checkedMolarMass(molarMass_g_mol));
}

/** mg/L from mmol/L. @param molarMass_g_mol  of the ion or compound counted, 1 to 1e6 g/mol */
export function mgPerLFromMmolPerL(concentration_mmol_L: number, molarMass_g_mol: number): number {
  return finite('concentration, mg/L', concentration_mmol_L * checkedMolarMass(molarMass_g_mol));
}

/**
 * µmol/kg from mmol/L; µeq/kg from meq/L in the same way.
 *
 * @param density_kg_L  of the water at the temperature at which its volume was measured, 0.9 to 1.2 kg/L
 * @source definition; checked against fixtures/reference/unit-conversions.csv
 */
export function umolPerKgFromMmolPerL(concentration_mmol_L: number, density_kg_L: number): number {
  return finite('concentration, µmol/kg', (1000 * concentration_mmol_L) / checkedDensity(density_kg_L));
}

/** mmol/L from µmol/kg; meq/L from µeq/kg in the same way. Density as for umolPerKgFromMmolPerL. */
export function mmolPerLFromUmolPerKg(concentration_umol_kg: number, density_kg_L: number): number {
  return finite('concentration, mmol/L', (concentration_umol_kg * checkedDensity(density_kg_L)) / 1000);
}

/** Hardness in mg/L CaCO3 from mg/L of calcium or magnesium, mole for mole. */
export function mgPerLCaCO3FromMetal(concentration_mg_L: number, metal: Extract<Element, 'Ca' | 'Mg'>): number {
  return finite('hardness, mg/L CaCO3', (concentration_mg_L / atomicWeight_g_mol[metal]) * calciumCarbonate_g_mol);
}

function checkedDensity(density_kg_L: number): number {
  return within('density, kg/L', density_kg_L, 0.9, 1.2);
}

function checkedMolarMass(molarMass_g_mol: number): number {
  return within('molar mass, g/mol', molarMass_g_mol, 1, 1e6);
}
