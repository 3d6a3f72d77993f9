import { atomicWeight_g_mol, molarMass_g_mol } from '../quantity/atomic-weights.ts';
import { within } from '../quantity/out-of-range.ts';
import type { Substance } from './substance.ts';

/** Grams of salt in a kilogram of seawater of practical salinity 35. @source Millero et al. 2008, Deep-Sea Res. I 55:50 */
const grams_kg_at_35 = 35.16504;

/** Molar mass of what calcification takes back out of the water. */
const carbonate_g_mol = molarMass_g_mol({ C: 1, O: 3 });
const bicarbonate_g_mol = molarMass_g_mol({ H: 1, C: 1, O: 3 });
const hydroxide_g_mol = molarMass_g_mol({ H: 1, O: 1 });

/** For one equivalent of alkalinity: a mole of bicarbonate or hydroxide, half a mole of carbonate. Follows from the charges. */
const anionMass_g_mol = {
  none: 0,
  bicarbonate: bicarbonate_g_mol,
  carbonate: carbonate_g_mol / 2,
  hydroxide: hydroxide_g_mol,
} as const;

/**
 * How a dose moves salinity. Salinity counts dissolved grams here, whatever the ions; a conductivity probe, whose factory
 * curve is for the ions of the sea, may show a rise some tenths larger or smaller.
 */
export type SalinityFromDose = {
  /** Right after the dose: all of the solid but its water of crystallisation. */
  atOnce: number;
  /** What stays once the corals have laid down the alkalinity and the calcium of the dose: sodium, chloride, sulfate. */
  lasting: number;
};

/**
 * Rise of practical salinity by a dose.
 *
 * @param grams         of the solid as weighed, 0 to 1,000,000 g
 * @param volumeL       true volume of water, 0.001 to 10,000,000 L
 * @param density_kg_L  of the tank water, 0.9 to 1.2
 * @throws OutOfRange  outside these limits
 * @source mole counting; 35.16504 g/kg at practical salinity 35 (Millero et al. 2008)
 */
export function salinityFromDose(
  substance: Substance,
  grams: number,
  volumeL: number,
  density_kg_L: number,
): SalinityFromDose {
  const moles = within('dose, g', grams, 0, 1e6) / substance.molarMass_g_mol;
  const kilograms = within('volume, L', volumeL, 0.001, 1e7) * within('density, kg/L', density_kg_L, 0.9, 1.2);
  // Quicklime takes up a water as it slakes: what then is dissolved is calcium and two hydroxides.
  const dissolved_g_mol =
    substance.id === 'calcium_oxide' ? atomicWeight_g_mol.Ca + 2 * hydroxide_g_mol : substance.anhydrousMolarMass_g_mol;
  const usedUp_g_mol =
    substance.alkalinity_eq_mol * anionMass_g_mol[substance.addition] +
    (substance.moles.calcium ?? 0) * atomicWeight_g_mol.Ca;
  const perGram = ((35 / grams_kg_at_35) * moles) / kilograms;
  return { atOnce: perGram * dissolved_g_mol, lasting: perGram * Math.max(0, dissolved_g_mol - usedUp_g_mol) };
}
