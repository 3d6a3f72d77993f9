import { demandAnalytes } from '../trend/demand-facts.ts';
import { amountText } from '../words/value-text.ts';
import { adviceFacts, withUnit } from './advice-facts.ts';
import type { Strength } from './advice-product.ts';
import type { AdviceInput, SideEffect } from './advice-types.ts';
import { salinityFromDose } from './salinity-from-dose.ts';
import { salinityChangeText } from './salinity-text.ts';
import { calciumPerAlkalinity_mg_L_per_dKH } from './stoichiometry.ts';
import { usualDensity_kg_L } from './water-facts.ts';

/** A side effect smaller than this share of the band's change a day is not told. Chosen here. */
const leastShareTold = 0.01;

/**
 * What the advised doses of a day do beside their purpose.
 *
 * @param amountPerDay  mL or g of the product, 0 or more
 */
export function sideEffects(input: AdviceInput, strength: Strength, amountPerDay: number): SideEffect[] {
  if (!(amountPerDay > 0)) return [];
  const effects: SideEffect[] = [];
  const { units = {} } = input;
  const { allPerUnit } = strength;
  if (allPerUnit !== undefined) {
    const calcium = allPerUnit.calcium_mg_L * amountPerDay;
    const alkalinity = allPerUnit.alkalinity_dKH * amountPerDay;
    if (input.analyte !== 'calcium' && calcium > 0) {
      // Corals take the calcium along with the alkalinity that the dose is for.
      const taken =
        input.analyte === 'alkalinity' && input.estimate !== undefined
          ? `; calcification takes about ${amountText('calcium', calciumPerAlkalinity_mg_L_per_dKH * input.estimate.demandPerDay, units)}`
          : '';
      effects.push({
        metric: 'calcium',
        perDay: calcium,
        text: `Adds ${amountText('calcium', calcium, units)} of calcium a day${taken}.`,
      });
    }
    if (input.analyte !== 'alkalinity' && alkalinity > 0) {
      const text = `Adds ${withUnit('alkalinity', alkalinity, units)} of alkalinity a day.`;
      effects.push({ metric: 'alkalinity', perDay: alkalinity, text });
    }
    for (const other of demandAnalytes) {
      const perDay = allPerUnit[adviceFacts[other].quantity] * amountPerDay;
      const isTold = other === 'alkalinity' || other === 'calcium' || other === input.analyte;
      // Of a trace less than a hundredth of what a day may bring nobody need hear.
      if (isTold || perDay < leastShareTold * adviceFacts[other].mostPerDay) continue;
      const text = `Adds ${amountText(other, perDay, units)} of ${adviceFacts[other].label.toLowerCase()} a day.`;
      effects.push({ metric: other, perDay, text });
    }
  }
  const { substance } = strength;
  if (substance === undefined) return effects;
  const grams = strength.solidGramsPerUnit * amountPerDay;
  const salinity = salinityFromDose(substance, grams, input.system.volumeL, usualDensity_kg_L).lasting;
  if (salinity * 30 >= 0.02) {
    const text = `Salt left behind: salinity rises by about ${salinityChangeText(salinity * 30, 2, units)} in 30 days if nothing else changes it.`;
    effects.push({ metric: 'salinity', perDay: salinity, text });
  }
  return effects;
}
