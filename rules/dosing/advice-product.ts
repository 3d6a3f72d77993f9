import { within } from '../quantity/out-of-range.ts';
import type { DemandAnalyte } from '../trend/demand-facts.ts';
import { adviceFacts } from './advice-facts.ts';
import type { AdviceProduct } from './advice-types.ts';
import { stockSolution } from './stock-solution.ts';
import { type DoseRise, riseFromDose } from './stoichiometry.ts';
import type { CarbonateAddition, Substance } from './substance.ts';
import { substances } from './substances.ts';

/** A product measured against one system: what one millilitre (or gram, weighed dry) does to its water. */
export type Strength = {
  product: AdviceProduct;
  unit: 'mL' | 'g';
  /** Rise of the wanted analyte, its unit for each mL or g. */
  risePerUnit: number;
  /** Alkalinity that comes with each unit of that rise, dKH; 0 for what brings none. */
  alkalinityPerRise: number;
  /** Rise of everything for each mL or g; absent for a product of unknown make-up. */
  allPerUnit?: DoseRise;
  substance?: Substance;
  addition: CarbonateAddition | 'unknown';
  /** Of a reactor's effluent: moles of carbon with each equivalent of alkalinity, its free carbon dioxide counted in. */
  carbon_mol_eq?: number;
  /** Most in a day, mL or g; absent when nobody set it. */
  mostPerDay?: number;
  /** Grams of the solid in each mL or g; 0 for a product of unknown make-up. */
  solidGramsPerUnit: number;
};

/**
 * @param volumeL  of the system, above 0
 * @throws OutOfRange  for a strength or volume of 0 or less
 */
export function strengthOf(product: AdviceProduct, analyte: DemandAnalyte, volumeL: number): Strength {
  within('volume, L', volumeL, 0.001, 1e7);
  if (product.made.of === 'own_strength') {
    const perMl = within('rise of 100 L by a millilitre', product.made.raises100LByPerMl, 1e-9, 1e6);
    return {
      product,
      unit: 'mL',
      risePerUnit: product.made.raises === analyte ? (perMl * 100) / volumeL : 0,
      ...ownMixture(product.made, analyte, volumeL),
      ...dailyLimit(product, 'mL', volumeL),
      solidGramsPerUnit: 0,
    };
  }
  const substance = substances[product.made.of];
  const { gramsPerLitre } = product.made;
  const unit = gramsPerLitre === undefined ? 'g' : 'mL';
  const grams = gramsPerLitre === undefined ? 1 : within('grams in a litre', gramsPerLitre, 1e-6, 5000) / 1000;
  const allPerUnit = riseFromDose(substance, grams, volumeL);
  const risePerUnit = allPerUnit[adviceFacts[analyte].quantity];
  return {
    product,
    unit,
    risePerUnit,
    alkalinityPerRise: risePerUnit > 0 ? allPerUnit.alkalinity_dKH / risePerUnit : 0,
    allPerUnit,
    substance,
    addition: substance.addition,
    ...dailyLimit(product, unit, volumeL),
    solidGramsPerUnit: grams,
  };
}

type OwnStrength = Extract<AdviceProduct['made'], { of: 'own_strength' }>;

/** What comes along in a bottle of stated strength. */
function ownMixture(
  { raises, raises100LByPerMl, all100LByPerMl, addition }: OwnStrength,
  analyte: DemandAnalyte,
  volumeL: number,
): Pick<Strength, 'alkalinityPerRise' | 'addition' | 'allPerUnit'> {
  const all = all100LByPerMl ?? { [raises]: raises100LByPerMl };
  const alkalinity = all.alkalinity ?? 0;
  const own = all[analyte] ?? 0;
  const acts = alkalinity > 0 ? (addition ?? 'unknown') : 'none';
  const mixture = { alkalinityPerRise: own > 0 ? alkalinity / own : 0, addition: acts } as const;
  if (Object.keys(all).length < 2) return mixture;
  const nothing = riseFromDose(substances.sodium_bicarbonate, 0, volumeL);
  const rises = Object.entries(all).map(([each, rise]) => [
    adviceFacts[each as DemandAnalyte].quantity,
    (rise * 100) / volumeL,
  ]);
  return { ...mixture, allPerUnit: { ...nothing, ...Object.fromEntries(rises) } };
}

function dailyLimit(product: AdviceProduct, unit: 'mL' | 'g', volumeL: number): { mostPerDay?: number } {
  const per100L = unit === 'mL' ? product.mostMlPerDayPer100L : product.mostGramsPerDayPer100L;
  return per100L === undefined ? {} : { mostPerDay: (per100L * volumeL) / 100 };
}

/** Why a solution cannot be as strong as stated, or undefined. */
export function beyondSolubility(product: AdviceProduct): string | undefined {
  if (product.made.of === 'own_strength' || product.made.gramsPerLitre === undefined) return undefined;
  if (product.made.isSaturated === true) return undefined;
  const stock = stockSolution(substances[product.made.of], product.made.gramsPerLitre);
  return stock.kind === 'past_solubility' ? stock.why : undefined;
}

/** The step in which a day's amount can be measured out: a syringe or a pump for mL, a scale for g. */
export function measurableStep(amountPerDay: number): number {
  if (amountPerDay < 2) return 0.05;
  if (amountPerDay < 20) return 0.1;
  return amountPerDay < 500 ? 1 : 5;
}

/** Rounded to what can be measured out; `down` never gives more than asked. */
export function measurable(amountPerDay: number, direction: 'down' | 'nearest'): number {
  if (!(amountPerDay > 0)) return 0;
  const step = measurableStep(amountPerDay);
  // A sum like 0.1 + 0.2 must not lose a whole step to its last bit.
  const steps = direction === 'down' ? Math.floor(amountPerDay / step + 1e-9) : Math.round(amountPerDay / step);
  return Number((steps * step).toFixed(2));
}
