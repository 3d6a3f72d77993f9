import { type DemandAnalyte, demandAnalytes } from '../trend/demand-facts.ts';
import type { DemandEstimate } from '../trend/demand-filter.ts';
import { adviceFacts } from './advice-facts.ts';
import type { Strength } from './advice-product.ts';
import type { AdviceInput } from './advice-types.ts';
import { calciumPerAlkalinity_mg_L_per_dKH } from './stoichiometry.ts';

/** Most of the product in a day, mL or g, and what sets it. */
export type DailyLimit = { most: number; setBy: 'nothing' | 'product' | 'side_effect' | 'low_ph'; text: string };

/**
 * The day's limit of a product in one system: the maker's or keeper's own, or the amount at which what comes along with it
 * would rise faster than its band allows. Lime brings 7.147 mg/L of calcium with each dKH; used for calcium alone it would
 * lift alkalinity out of its band in a day.
 */
export function dailyLimit(input: AdviceInput, estimate: DemandEstimate, strength: Strength): DailyLimit {
  let limit: DailyLimit = { most: Number.POSITIVE_INFINITY, setBy: 'nothing', text: '' };
  if (strength.mostPerDay !== undefined) {
    const text = `${strength.product.name} is limited to ${Number(strength.mostPerDay.toFixed(2))} ${strength.unit} a day, which does not cover the whole need: the rest needs another product or a water change.`;
    limit = { most: strength.mostPerDay, setBy: 'product', text };
  }
  for (const other of demandAnalytes) {
    const perUnit = strength.allPerUnit?.[adviceFacts[other].quantity] ?? 0;
    if (other === input.analyte || perUnit <= 0) continue;
    const mostRise = input.system.otherBands[other]?.mostPerDay ?? adviceFacts[other].mostPerDay;
    const most = (mostRise + demandOf(other, input, estimate)) / perUnit;
    if (most >= limit.most) continue;
    const { label } = adviceFacts[other];
    limit = {
      most,
      setBy: 'side_effect',
      text: `More in a day would raise ${label.toLowerCase()} too fast: use another product for the rest.`,
    };
  }
  return limit;
}

/** What the system uses of another analyte a day: its own estimate, else what calcification takes beside this one. */
function demandOf(other: DemandAnalyte, input: AdviceInput, estimate: DemandEstimate): number {
  const known = input.otherEstimates?.[other];
  if (known !== undefined) return Math.max(0, known.demandPerDay);
  const demand = Math.max(0, estimate.demandPerDay);
  if (input.analyte === 'alkalinity' && other === 'calcium') return demand * calciumPerAlkalinity_mg_L_per_dKH;
  if (input.analyte === 'calcium' && other === 'alkalinity') return demand / calciumPerAlkalinity_mg_L_per_dKH;
  return 0;
}
