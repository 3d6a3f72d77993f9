import type { Substance, SubstanceId } from './substance.ts';

const crc = 'CRC Handbook of Chemistry and Physics, 98th ed., aqueous solubility of inorganic compounds at 25 °C';
const limeSource = '1.6 g/L at 25 °C, from memory; falls as the water warms';

const read = "Read the maker's label. Keep from children and pets.";
const slowly = 'Dissolve in fresh water first and add slowly where the flow is strong; never as dry salt onto animals.';
const apart =
  'Never mix calcium and carbonate solutions: they precipitate as a white cloud. Dose them apart in time and place.';
const caustic =
  'Caustic: gloves and eye protection, ventilate; rinse skin or eyes with plenty of water and see a physician.';
const intoWater = 'Add the solid to cold water in small parts, never water onto the solid: it heats and may spit.';
const raisesPh = 'Raises pH at once: small doses, well spread over the day.';
const heats = 'Heats as it dissolves: add it to cold water in small parts, gloves and eye protection.';
const trace = 'Acts in trace amounts: weigh a diluted stock, and test before and after.';
const pure = 'Use a grade fit for the purpose; road salt, farm and workshop grades may carry metals or ammonia.';

/**
 * Every substance whose dose Brinekeep can work out, as ideal, pure solids. A product of trade may be wetter or weaker than
 * its formula: weigh by the maker's stated content where there is one.
 *
 * @source molar masses: IUPAC 2021 standard atomic weights (CIAAW); where IUPAC gives an interval, its conventional value
 * @source solubilities: named in each entry. Checked against fixtures/reference/dosing-stoichiometry.csv
 */
export const substances: Record<SubstanceId, Substance> = {
  sodium_bicarbonate: {
    id: 'sodium_bicarbonate',
    label: 'Sodium bicarbonate',
    formula: 'NaHCO3',
    molarMass_g_mol: 84.00576928,
    anhydrousMolarMass_g_mol: 84.00576928,
    alkalinity_eq_mol: 1,
    dic_mol_mol: 1,
    moles: {},
    addition: 'bicarbonate',
    solubility25C_mass_percent: 9.32,
    solubilitySource: crc,
    cautions: [read, slowly, apart],
  },
  sodium_carbonate: {
    id: 'sodium_carbonate',
    label: 'Sodium carbonate, anhydrous (soda ash)',
    formula: 'Na2CO3',
    molarMass_g_mol: 105.98753856,
    anhydrousMolarMass_g_mol: 105.98753856,
    alkalinity_eq_mol: 2,
    dic_mol_mol: 1,
    moles: {},
    addition: 'carbonate',
    solubility25C_mass_percent: 23.5,
    solubilitySource: crc,
    cautions: [read, caustic, raisesPh, slowly, apart],
  },
  sodium_carbonate_decahydrate: {
    id: 'sodium_carbonate_decahydrate',
    label: 'Sodium carbonate decahydrate (washing soda)',
    formula: 'Na2CO3·10H2O',
    molarMass_g_mol: 286.13753856,
    anhydrousMolarMass_g_mol: 105.98753856,
    alkalinity_eq_mol: 2,
    dic_mol_mol: 1,
    moles: {},
    addition: 'carbonate',
    solubility25C_mass_percent: 23.5,
    solubilitySource: crc,
    cautions: [read, caustic, raisesPh, slowly, apart, 'Loses water of crystallisation in air: keep the jar closed.'],
  },
  sodium_hydroxide: {
    id: 'sodium_hydroxide',
    label: 'Sodium hydroxide (lye)',
    formula: 'NaOH',
    molarMass_g_mol: 39.99676928,
    anhydrousMolarMass_g_mol: 39.99676928,
    alkalinity_eq_mol: 1,
    dic_mol_mol: 0,
    moles: {},
    addition: 'hydroxide',
    solubility25C_mass_percent: 50,
    solubilitySource: crc,
    cautions: [read, caustic, intoWater, raisesPh, apart, 'Keep away from aluminium and acids.'],
  },
  calcium_hydroxide: {
    id: 'calcium_hydroxide',
    label: 'Calcium hydroxide (slaked lime)',
    formula: 'Ca(OH)2',
    molarMass_g_mol: 74.092,
    anhydrousMolarMass_g_mol: 74.092,
    alkalinity_eq_mol: 2,
    dic_mol_mol: 0,
    moles: { calcium: 1 },
    addition: 'hydroxide',
    solubility25C_mass_percent: 0.16,
    solubilitySource: limeSource,
    cautions: [read, caustic, raisesPh, 'Dose the clear lime water, not the sediment; do not breathe the dust.'],
  },
  calcium_oxide: {
    id: 'calcium_oxide',
    label: 'Calcium oxide (quicklime)',
    formula: 'CaO',
    molarMass_g_mol: 56.077,
    // It goes into solution only as calcium hydroxide, and the water it takes up for that comes from the tank.
    anhydrousMolarMass_g_mol: 56.077,
    alkalinity_eq_mol: 2,
    dic_mol_mol: 0,
    moles: { calcium: 1 },
    addition: 'hydroxide',
    // As much as gives saturated lime water: 0.16 × 56.077 / 74.092.
    solubility25C_mass_percent: 0.1211,
    solubilitySource: `as slaked lime: ${limeSource}`,
    cautions: [
      read,
      caustic,
      intoWater,
      raisesPh,
      'Slaking is violent: it can boil the water. Slaked lime is the safer form.',
    ],
  },
  calcium_chloride: {
    id: 'calcium_chloride',
    label: 'Calcium chloride, anhydrous',
    formula: 'CaCl2',
    molarMass_g_mol: 110.978,
    anhydrousMolarMass_g_mol: 110.978,
    alkalinity_eq_mol: 0,
    dic_mol_mol: 0,
    moles: { calcium: 1 },
    addition: 'none',
    solubility25C_mass_percent: 44.83,
    solubilitySource: crc,
    cautions: [read, heats, slowly, apart, pure],
  },
  calcium_chloride_dihydrate: {
    id: 'calcium_chloride_dihydrate',
    label: 'Calcium chloride dihydrate',
    formula: 'CaCl2·2H2O',
    molarMass_g_mol: 147.008,
    anhydrousMolarMass_g_mol: 110.978,
    alkalinity_eq_mol: 0,
    dic_mol_mol: 0,
    moles: { calcium: 1 },
    addition: 'none',
    solubility25C_mass_percent: 44.83,
    solubilitySource: crc,
    cautions: [
      read,
      heats,
      slowly,
      apart,
      pure,
      'Draws water from the air: keep the jar closed, or it is weaker by weight.',
    ],
  },
  calcium_chloride_hexahydrate: {
    id: 'calcium_chloride_hexahydrate',
    label: 'Calcium chloride hexahydrate',
    formula: 'CaCl2·6H2O',
    molarMass_g_mol: 219.068,
    anhydrousMolarMass_g_mol: 110.978,
    alkalinity_eq_mol: 0,
    dic_mol_mol: 0,
    moles: { calcium: 1 },
    addition: 'none',
    solubility25C_mass_percent: 44.83,
    solubilitySource: crc,
    cautions: [read, slowly, apart, pure],
  },
  magnesium_chloride_hexahydrate: {
    id: 'magnesium_chloride_hexahydrate',
    label: 'Magnesium chloride hexahydrate',
    formula: 'MgCl2·6H2O',
    molarMass_g_mol: 203.295,
    anhydrousMolarMass_g_mol: 95.205,
    alkalinity_eq_mol: 0,
    dic_mol_mol: 0,
    moles: { magnesium: 1 },
    addition: 'none',
    solubility25C_mass_percent: 35.9,
    solubilitySource: crc,
    cautions: [read, slowly, pure, 'Draws water from the air: keep the jar closed.'],
  },
  magnesium_sulfate_heptahydrate: {
    id: 'magnesium_sulfate_heptahydrate',
    label: 'Magnesium sulfate heptahydrate (Epsom salt)',
    formula: 'MgSO4·7H2O',
    molarMass_g_mol: 246.466,
    anhydrousMolarMass_g_mol: 120.361,
    alkalinity_eq_mol: 0,
    dic_mol_mol: 0,
    moles: { magnesium: 1 },
    addition: 'none',
    solubility25C_mass_percent: 26.3,
    solubilitySource: crc,
    cautions: [read, slowly, 'Without scent or colour. Used alone for long it shifts sulfate against chloride.'],
  },
  potassium_iodide: {
    id: 'potassium_iodide',
    label: 'Potassium iodide',
    formula: 'KI',
    molarMass_g_mol: 166.00277,
    anhydrousMolarMass_g_mol: 166.00277,
    alkalinity_eq_mol: 0,
    dic_mol_mol: 0,
    moles: { potassium: 1, iodide: 1 },
    addition: 'none',
    solubility25C_mass_percent: 59.7,
    solubilitySource: crc,
    cautions: [read, trace, slowly],
  },
  potassium_nitrate: {
    id: 'potassium_nitrate',
    label: 'Potassium nitrate',
    formula: 'KNO3',
    molarMass_g_mol: 101.1023,
    anhydrousMolarMass_g_mol: 101.1023,
    alkalinity_eq_mol: 0,
    dic_mol_mol: 0,
    moles: { potassium: 1, nitrate: 1 },
    addition: 'none',
    solubility25C_mass_percent: 27.7,
    solubilitySource: crc,
    cautions: [
      read,
      trace,
      slowly,
      'Oxidiser: keep from fuel, paper and heat. Its sale may be restricted by local law.',
    ],
  },
  potassium_dihydrogen_phosphate: {
    id: 'potassium_dihydrogen_phosphate',
    label: 'Potassium dihydrogen phosphate',
    formula: 'KH2PO4',
    molarMass_g_mol: 136.084061998,
    anhydrousMolarMass_g_mol: 136.084061998,
    alkalinity_eq_mol: 0,
    dic_mol_mol: 0,
    moles: { potassium: 1, phosphate: 1 },
    addition: 'none',
    solubility25C_mass_percent: 19.97,
    solubilitySource: crc,
    cautions: [read, trace, slowly],
  },
};

const key = (text: string): string => text.toLowerCase().replaceAll(/[^a-z0-9()]/g, '');

const byName: ReadonlyMap<string, Substance> = new Map(
  Object.values(substances).flatMap((substance) => {
    const commonNames = [...substance.label.matchAll(/\(([^)]*)\)/g)].map((match) => match[1]!);
    // The id is the plain name too, once case and spacing are gone.
    const names = [substance.id, substance.formula, substance.label, ...commonNames];
    if (substance.molarMass_g_mol === substance.anhydrousMolarMass_g_mol) {
      names.push(`${substance.id} anhydrous`, `${substance.id} (anhydrous)`);
    }
    return names.map((name) => [key(name), substance] as const);
  }),
);

/**
 * Finds a substance by what a person wrote: its id, its name, its common name or its formula, in any case and spacing. A
 * name without a hydrate means the anhydrous salt, as in chemistry: write "dihydrate" when the jar says dihydrate.
 *
 * @returns the substance, or undefined for a text that names none of them
 */
export function substanceNamed(text: string): Substance | undefined {
  return byName.get(key(text));
}
