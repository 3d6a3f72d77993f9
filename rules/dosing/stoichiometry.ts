import { meqPerLPerDkh } from '../quantity/alkalinity-unit.ts';
import { atomicWeight_g_mol, molarMass_g_mol } from '../quantity/atomic-weights.ts';
import { OutOfRange, within } from '../quantity/out-of-range.ts';
import { calciumUsed_mg_LFromAlkalinityUsed } from '../seawater/calcification.ts';
import type { DosedIon, Substance } from './substance.ts';

/**
 * What a dose adds to every litre of the water it is stirred into, in the units of the store. Zero where it adds nothing.
 * Alkalinity in both usual units; iodide in µg/L, all other ions in mg/L.
 */
export type DoseRise = {
  alkalinity_dKH: number;
  alkalinity_meq_L: number;
  calcium_mg_L: number;
  magnesium_mg_L: number;
  potassium_mg_L: number;
  iodide_ug_L: number;
  nitrate_mg_L: number;
  phosphate_mg_L: number;
};

export type RiseQuantity = keyof DoseRise;

const ionMass_g_mol: Record<DosedIon, number> = {
  calcium: atomicWeight_g_mol.Ca,
  magnesium: atomicWeight_g_mol.Mg,
  potassium: atomicWeight_g_mol.K,
  iodide: atomicWeight_g_mol.I,
  nitrate: molarMass_g_mol({ N: 1, O: 3 }),
  phosphate: molarMass_g_mol({ P: 1, O: 4 }),
};

/** Alkalinity of one dKH, meq/L: 10 mg/L of CaO, two equivalents a mole, 0.35665. */
export const meq_L_per_dKH = meqPerLPerDkh;

/** Calcium that calcification takes for each dKH of alkalinity, mg/L: one calcium for two equivalents, 7.147. */
export const calciumPerAlkalinity_mg_L_per_dKH = calciumUsed_mg_LFromAlkalinityUsed(meqPerLPerDkh);

const ionUnits: Record<Exclude<RiseQuantity, 'alkalinity_dKH' | 'alkalinity_meq_L'>, [DosedIon, number]> = {
  calcium_mg_L: ['calcium', 1000],
  magnesium_mg_L: ['magnesium', 1000],
  potassium_mg_L: ['potassium', 1000],
  iodide_ug_L: ['iodide', 1e6],
  nitrate_mg_L: ['nitrate', 1000],
  phosphate_mg_L: ['phosphate', 1000],
};

const mostGrams = 1e6;
const smallestVolumeL = 0.001;
const mostVolumeL = 1e7;

function risePerGramInOneLitre(substance: Substance, quantity: RiseQuantity): number {
  const moles = 1 / substance.molarMass_g_mol;
  if (quantity === 'alkalinity_meq_L') return 1000 * moles * substance.alkalinity_eq_mol;
  if (quantity === 'alkalinity_dKH') return (1000 * moles * substance.alkalinity_eq_mol) / meq_L_per_dKH;
  const [ion, unitsPerGram] = ionUnits[quantity];
  return unitsPerGram * moles * (substance.moles[ion] ?? 0) * ionMass_g_mol[ion];
}

/**
 * What a dose of a pure substance adds once it is dissolved and mixed in, before anything uses it or falls out. The volume
 * that the solution itself adds is not counted.
 *
 * @param grams    of the solid as weighed, with its water of crystallisation, 0 to 1,000,000
 * @param volumeL  true volume of water, without rock and sand, 0.001 to 10,000,000 L
 * @throws OutOfRange  outside these limits
 * @source mole counting with IUPAC 2021 weights; checked against fixtures/reference/dosing-stoichiometry.csv
 */
export function riseFromDose(substance: Substance, grams: number, volumeL: number): DoseRise {
  const gramsPerLitre =
    within('dose, g', grams, 0, mostGrams) / within('volume, L', volumeL, smallestVolumeL, mostVolumeL);
  const rise = (quantity: RiseQuantity): number => gramsPerLitre * risePerGramInOneLitre(substance, quantity);
  return {
    alkalinity_dKH: rise('alkalinity_dKH'),
    alkalinity_meq_L: rise('alkalinity_meq_L'),
    calcium_mg_L: rise('calcium_mg_L'),
    magnesium_mg_L: rise('magnesium_mg_L'),
    potassium_mg_L: rise('potassium_mg_L'),
    iodide_ug_L: rise('iodide_ug_L'),
    nitrate_mg_L: rise('nitrate_mg_L'),
    phosphate_mg_L: rise('phosphate_mg_L'),
  };
}

/** True when the substance adds to this quantity at all. */
export function raises(substance: Substance, quantity: RiseQuantity): boolean {
  return risePerGramInOneLitre(substance, quantity) > 0;
}

/**
 * Grams of a pure substance that lift one quantity by so much: the inverse of `riseFromDose`.
 *
 * @param rise     in the unit that the quantity's name carries, 0 to 1,000,000; the substance must add to it (see `raises`)
 * @param volumeL  true volume of water, 0.001 to 10,000,000 L
 * @returns grams of the solid as weighed, with its water of crystallisation
 * @throws OutOfRange  outside these limits, and for a substance that does not add to the quantity
 */
export function gramsForRise(substance: Substance, quantity: RiseQuantity, rise: number, volumeL: number): number {
  const perGram = risePerGramInOneLitre(substance, quantity);
  if (perGram === 0)
    throw new OutOfRange(`${quantity} from a gram of ${substance.label}`, 0, 'a substance that adds to it');
  const risePerGram = perGram / within('volume, L', volumeL, smallestVolumeL, mostVolumeL);
  return within(`rise of ${quantity}`, rise, 0, 1e6) / risePerGram;
}
