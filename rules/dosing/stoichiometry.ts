import { meqPerLPerDkh } from '../quantity/alkalinity-unit.ts';
import type { AnalyteData } from '../quantity/analyte-data.ts';
import { analyteTable, type TestedAnalyte, testedAnalytes } from '../quantity/analyte-table.ts';
import { within } from '../quantity/out-of-range.ts';
import { calciumUsed_mg_LFromAlkalinityUsed } from '../seawater/calcification.ts';
import type { DosedIon, Substance } from './substance.ts';

/**
 * What a dose adds to every litre of the water it is stirred into, in the units of the store. Zero where it adds nothing.
 * Alkalinity in both usual units; iodide in µg/L, all other ions in mg/L.
 */
export type DoseRise = Record<RiseQuantity, number>;

export type RiseQuantity = (typeof analyteTable)[TestedAnalyte]['quantity'] | 'alkalinity_meq_L';

/** Alkalinity of one dKH, meq/L: 10 mg/L of CaO, two equivalents a mole, 0.35665. */
export const meq_L_per_dKH = meqPerLPerDkh;

/** Calcium that calcification takes for each dKH of alkalinity, mg/L: one calcium for two equivalents, 7.147. */
export const calciumPerAlkalinity_mg_L_per_dKH = calciumUsed_mg_LFromAlkalinityUsed(meqPerLPerDkh);

/** By quantity, the ion and how many of its units a mole of it is. */
const ionUnits = new Map(
  testedAnalytes.flatMap((analyte): [RiseQuantity, { ion: DosedIon; unitsPerMole: number }][] => {
    const { quantity, ion }: AnalyteData = analyteTable[analyte];
    if (analyte === 'alkalinity' || ion === undefined) return [];
    return [[quantity as RiseQuantity, { ion: analyte, unitsPerMole: ion.perGram * ion.g_mol }]];
  }),
);
const quantities: readonly RiseQuantity[] = ['alkalinity_dKH', 'alkalinity_meq_L', ...ionUnits.keys()];

/** A tonne, a millilitre, ten thousand cubic metres: beyond them a unit was mistaken. Chosen here. */
const mostGrams = 1e6;
const smallestVolumeL = 0.001;
const mostVolumeL = 1e7;

function risePerGramInOneLitre(substance: Substance, quantity: RiseQuantity): number {
  const moles = 1 / substance.molarMass_g_mol;
  if (quantity === 'alkalinity_meq_L') return 1000 * moles * substance.alkalinity_eq_mol;
  if (quantity === 'alkalinity_dKH') return (1000 * moles * substance.alkalinity_eq_mol) / meq_L_per_dKH;
  const found = ionUnits.get(quantity);
  return found === undefined ? 0 : moles * (substance.moles[found.ion] ?? 0) * found.unitsPerMole;
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
  return Object.fromEntries(quantities.map((quantity) => [quantity, rise(quantity)])) as DoseRise;
}
