import { defined } from '../plain-data/defined.ts';
import { type DemandAnalyte, demandAnalytes } from '../trend/demand-facts.ts';
import type { DemandEstimate } from '../trend/demand-filter.ts';
import { adviceFacts, withUnit } from './advice-facts.ts';
import { flowLimits, withCarbon } from './advice-flow.ts';
import { type DailyLimit, dailyLimit } from './advice-limits.ts';
import { type DoseLimits, doseLimits } from './advice-ph.ts';
import { beyondSolubility, type Strength, strengthOf } from './advice-product.ts';
import type { AdviceInput, AdviceStock, HoldBack, KnownFact } from './advice-types.ts';
import { asOnMeter, type DoseWater } from './advice-water.ts';

/** A stock measured against the system, with what it gives now and what more it may give. */
export type StockInUse = {
  stock: AdviceStock;
  strength: Strength;
  /** By plan and by hand, a day. */
  amountPerDay: number;
  risePerDay: number;
  /** Most of a day by its own limit or by what comes along with it. */
  limit: DailyLimit;
  /** What the carbonate system allows. */
  doses: DoseLimits;
  /** Why no more of it may be given; absent: more may be. */
  refusal?: HoldBack;
};

/**
 * All stocks that raise the analyte, in the order in which an increase is looked for: those that run before those that do not,
 * those that bring nothing else before those that do.
 *
 * @throws OutOfRange  for a strength or volume of 0 or less
 */
export function stocksInUse(input: AdviceInput, estimate: DemandEstimate, water: DoseWater): StockInUse[] {
  const { band } = input.system;
  const mostAtOnce = Math.min(band.mostPerDay ?? adviceFacts[input.analyte].mostPerDay, band.mostPerHour ?? Infinity);
  const all = input.stocks.map((stock): StockInUse => {
    const strength = withCarbon(water, strengthOf(stock.product, input.analyte, input.system.volumeL));
    const amountPerDay = stock.planPerDay + stock.byHandPerDay;
    const { carbon_mol_eq } = strength;
    const doses =
      carbon_mol_eq === undefined
        ? doseLimits(water, strength, mostAtOnce)
        : flowLimits(water, strength, carbon_mol_eq, mostAtOnce);
    const refusal = refusalOf(input, stock, strength, doses, water);
    return {
      stock,
      strength,
      amountPerDay,
      risePerDay: amountPerDay * Math.max(0, strength.risePerUnit),
      doses,
      limit: dailyLimit(input, estimate, strength),
      ...defined({ refusal }),
    };
  });
  const rank = ({ amountPerDay, strength }: StockInUse): number =>
    (amountPerDay > 0 ? 0 : 2) + (bringsOthers(strength, input) ? 1 : 0);
  return all.sort((one, other) => rank(one) - rank(other));
}

function bringsOthers({ allPerUnit }: Strength, { analyte }: AdviceInput): boolean {
  return demandAnalytes.some((other) => other !== analyte && (allPerUnit?.[adviceFacts[other].quantity] ?? 0) > 0);
}

function refusalOf(
  input: AdviceInput,
  { product }: AdviceStock,
  strength: Strength,
  doses: DoseLimits,
  water: DoseWater,
): HoldBack | undefined {
  const { label } = adviceFacts[input.analyte];
  if (!(strength.risePerUnit > 0)) {
    const text = `${product.name} does not raise ${label.toLowerCase()}: name the product that does.`;
    return { rule: 'product_does_not_raise', text };
  }
  const tooStrong = beyondSolubility(product);
  if (tooStrong !== undefined) {
    const text = `${tooStrong}: what is on the bottom is not in the dose. Dilute it, state the true strength, then ask again.`;
    return { rule: 'past_solubility', text };
  }
  const high = otherAboveBand(input, strength);
  if (high !== undefined) return high;
  if (doses.largestRise > 0) return undefined;
  if (doses.setBy === 'low_ph') return { rule: 'low_ph_limit', text: lowPhText(water, product.name) };
  const shown = water.meterScale === 'nbs' ? '' : ` (${water.meterScale} scale)`;
  const limit = input.system.highestPhAfterDose.value.toFixed(2);
  return doses.setBy === 'saturation'
    ? {
        rule: 'saturation_limit',
        text: `The water is so full of carbonate that more ${product.name} could precipitate. Let pH and alkalinity come down first.`,
      }
    : {
        rule: 'ph_limit',
        text: `pH is at its limit of ${limit}${shown}, and ${product.name} would lift it further. Use bicarbonate, or wait for a lower pH.`,
      };
}

/** Why a reactor may give no more. */
export function lowPhText(water: DoseWater, name: string): string {
  const shown = water.meterScale === 'nbs' ? '' : ` (${water.meterScale} scale)`;
  const [now, least] = [water.night.phTotal, water.night.leastPhTotal].map((ph) => asOnMeter(water, ph).toFixed(2));
  return (
    `pH is ${now} at its lowest, and the carbon dioxide in more of ${name} would take it below ${least}${shown}. Aerate more, ` +
    'set the reactor so that less carbon dioxide is left in its effluent, or give the rest by a stock that brings none.'
  );
}

/** Lime for alkalinity while calcium is above its band, and the like. */
function otherAboveBand(input: AdviceInput, { product, allPerUnit }: Strength): HoldBack | undefined {
  const known: Partial<Record<DemandAnalyte, KnownFact | undefined>> = {
    alkalinity: input.water.alkalinity_dKH,
    calcium: input.water.calcium_mg_L,
    magnesium: input.water.magnesium_mg_L,
  };
  for (const other of demandAnalytes) {
    const high = input.system.otherBands[other]?.high;
    const level = known[other]?.value ?? input.otherEstimates?.[other]?.level;
    const brings = allPerUnit?.[adviceFacts[other].quantity] ?? 0;
    if (other === input.analyte || brings <= 0 || high === undefined || level === undefined || level <= high) continue;
    const { label } = adviceFacts[other];
    const text = `${label} is above its band (${withUnit(other, level, input.units)}), and ${product.name} brings more of it. Use a product without it.`;
    return { rule: 'other_analyte_high', text };
  }
  return undefined;
}
