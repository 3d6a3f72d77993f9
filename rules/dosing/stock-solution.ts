import { within } from '../quantity/out-of-range.ts';
import type { Substance } from './substance.ts';

/** A solution made up for dosing: so many grams of the solid in each litre of finished solution. */
export type StockSolution = {
  kind: 'stock';
  substance: Substance;
  grams_L: number;
  /** Share of the most that is sure to dissolve at 25 °C. */
  shareOfSolubility: number;
  /** What to mind when making and keeping it. */
  cautions: string[];
};

/** Why a recipe cannot be made. */
export type StockRefusal = { kind: 'past_solubility'; grams_L: number; most_g_L: number; why: string };

/** Above this share a cool room may bring crystals. Common practice, no published source. */
const nearlySaturated = 0.85;

/**
 * The most of a solid that is sure to dissolve in a litre of finished solution at 25 °C. A litre of a saturated solution
 * weighs a kilogram or more, so a kilogram's worth is on the safe side: by about 7 % for sodium bicarbonate, by 20 to 50 %
 * for the very soluble salts (densities from memory).
 *
 * @returns grams of the solid as weighed, with its water of crystallisation, in a litre of solution
 * @source solubility of the anhydrous salt as each substance states it
 */
export function mostSoluble_g_L(substance: Substance): number {
  const solidPerAnhydrous = substance.molarMass_g_mol / substance.anhydrousMolarMass_g_mol;
  return 10 * substance.solubility25C_mass_percent * solidPerAnhydrous;
}

/**
 * A stock solution from its recipe, or why it will not dissolve.
 *
 * @param grams_L  of the solid as weighed, made up with water to one litre, 0.001 to 2000 g/L
 * @throws OutOfRange  outside these limits
 */
export function stockSolution(substance: Substance, grams_L: number): StockSolution | StockRefusal {
  within('recipe, g/L', grams_L, 0.001, 2000);
  const most_g_L = mostSoluble_g_L(substance);
  if (grams_L > most_g_L) {
    const most = most_g_L < 10 ? most_g_L.toFixed(1) : most_g_L.toFixed(0);
    const why = `${substance.label}: found ${grams_L} g/L, sure to dissolve at 25 °C up to ${most} g/L. Use ${most} g/L or less.`;
    return { kind: 'past_solubility', grams_L, most_g_L, why };
  }
  const shareOfSolubility = grams_L / most_g_L;
  const cautions = [...substance.cautions, 'Label the bottle with name, strength and date; keep it closed.'];
  if (shareOfSolubility > nearlySaturated) {
    cautions.push('Nearly saturated: in a cold room crystals may form and weaken it. Make it weaker, or keep it warm.');
  }
  return { kind: 'stock', substance, grams_L, shareOfSolubility, cautions };
}
