import { molarMass_g_mol } from '../quantity/atomic-weights.ts';
import { within } from '../quantity/out-of-range.ts';
import { densityFromSalinityEos80 } from './density.ts';

/** Grams in a kilogram of Reference Seawater of practical salinity 35. @source as `referenceElement` */
const grams_kg = {
  Na: 10.78145,
  Mg: 1.28372,
  Ca: 0.41208,
  K: 0.3991,
  Sr: 0.00795,
  Cl: 19.35271,
  SO4: 2.71235,
  Br: 0.06728,
  F: 0.0013,
  BOH3: 0.01944,
  BOH4: 0.00795,
} as const;

/** Boron, g/mol: conventional value of IUPAC 2021 (from memory). */
const boron_g_mol = 10.81;
const sulfur_g_mol = molarMass_g_mol({ S: 1 });
const boricAcid_g_mol = boron_g_mol + molarMass_g_mol({ O: 3, H: 3 });
const borate_g_mol = boron_g_mol + molarMass_g_mol({ O: 4, H: 4 });

/** Grams of each in a kilogram at practical salinity 35; sulfur and boron as laboratories count them, as the element. */
const elements_g_kg = {
  Na: grams_kg.Na,
  Mg: grams_kg.Mg,
  Ca: grams_kg.Ca,
  K: grams_kg.K,
  Sr: grams_kg.Sr,
  Cl: grams_kg.Cl,
  SO4: grams_kg.SO4,
  Br: grams_kg.Br,
  F: grams_kg.F,
  S: (grams_kg.SO4 * sulfur_g_mol) / molarMass_g_mol({ S: 1, O: 4 }),
  B: (grams_kg.BOH3 * boron_g_mol) / boricAcid_g_mol + (grams_kg.BOH4 * boron_g_mol) / borate_g_mol,
} as const;

export type ReferenceElement = keyof typeof elements_g_kg;

export function isReferenceElement(text: string): text is ReferenceElement {
  return Object.hasOwn(elements_g_kg, text);
}

/**
 * What seawater of a salinity holds in a litre at 25 °C: the constant proportions of Reference Seawater.
 *
 * @param salinity  practical, 5 to 42
 * @returns mg/L
 * @throws OutOfRange  outside these limits
 * @source Millero, Feistel, Wright & McDougall 2008, Deep-Sea Research I 55, 50–72, table 4:
 *   fixtures/reference/seawater-reference-composition.csv
 */
export function reference_mg_L(element: ReferenceElement, salinity: number): number {
  const practical = within('salinity', salinity, 5, 42);
  return elements_g_kg[element] * (practical / 35) * densityFromSalinityEos80(practical, 25);
}
