import type { TestedAnalyte } from '../quantity/analyte-table.ts';

/** The ions and elements that a dose can add and that people watch. One mole of the substance gives `moles` of each. */
export type DosedIon = Exclude<TestedAnalyte, 'alkalinity'>;

/**
 * How an addition acts on the carbonate system for one equivalent of alkalinity: bicarbonate brings one mole of dissolved
 * inorganic carbon, carbonate a half, hydroxide none. `none`: no alkalinity.
 */
export type CarbonateAddition = 'bicarbonate' | 'carbonate' | 'hydroxide' | 'none';

export type Substance = {
  id: SubstanceId;
  /** How a person reads it. */
  label: string;
  formula: string;
  molarMass_g_mol: number;
  /** Molar mass of what stays dissolved once the water of crystallisation has joined the tank water. */
  anhydrousMolarMass_g_mol: number;
  /** Equivalents of total alkalinity for each mole, by Dickson's definition (H2PO4- is its zero level). */
  alkalinity_eq_mol: number;
  /** Moles of dissolved inorganic carbon for each mole. */
  dic_mol_mol: number;
  /** Moles of each ion for each mole of the substance. */
  moles: Partial<Record<DosedIon, number>>;
  addition: CarbonateAddition;
  /** Mass percent of the anhydrous salt in its saturated solution in water at 25 °C. */
  solubility25C_mass_percent: number;
  /** Where the solubility comes from. */
  solubilitySource: string;
  /** What a person must know before handling it; the maker's label always stands above this. */
  cautions: readonly string[];
};

export const substanceIds = [
  'sodium_bicarbonate',
  'sodium_carbonate',
  'sodium_carbonate_decahydrate',
  'sodium_hydroxide',
  'calcium_hydroxide',
  'calcium_oxide',
  'calcium_chloride',
  'calcium_chloride_dihydrate',
  'calcium_chloride_hexahydrate',
  'magnesium_chloride_hexahydrate',
  'magnesium_sulfate_heptahydrate',
  'potassium_iodide',
  'potassium_nitrate',
  'potassium_dihydrogen_phosphate',
] as const;

export type SubstanceId = (typeof substanceIds)[number];
