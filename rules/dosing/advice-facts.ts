import type { AdviceData } from '../quantity/analyte-data.ts';
import { ofEachAnalyte } from '../quantity/analyte-table.ts';
import type { KeepersUnits } from '../quantity/band.ts';
import type { DemandAnalyte } from '../trend/demand-facts.ts';
import { shownAs } from '../words/value-text.ts';
import type { RiseQuantity } from './stoichiometry.ts';

/** What advice takes as given for an analyte where the keeper has said nothing else, with what a dose of it raises. */
export type AdviceFacts = AdviceData & { label: string; quantity: RiseQuantity };

export const adviceFacts: Record<DemandAnalyte, AdviceFacts> = ofEachAnalyte(({ label, quantity, advice }) => ({
  ...advice,
  label,
  quantity: quantity as RiseQuantity,
}));

/** Days that advice looks ahead. */
export const daysAhead = 7;

/**
 * A number for a sentence, in the keeper's unit and its decimals.
 *
 * @param value  a level or an amount, in the analyte's store unit
 * @param units  the keeper's; absent: the store's
 */
export function shown(analyte: DemandAnalyte, value: number, units: KeepersUnits = {}): string {
  const { decimals, of } = shownAs(analyte, 0, units);
  const inUnit = of(value);
  // Small daily amounts of calcium and magnesium would all read 0 or 1 without a decimal.
  const needed = Math.abs(inUnit) < 10 && decimals === 0 ? 1 : decimals;
  const text = inUnit.toFixed(needed);
  return Number(text) === 0 ? (0).toFixed(needed) : text.replace('-', '\u2212');
}

/** The same with its unit, e.g. `0.32 meq/L`. */
export function withUnit(analyte: DemandAnalyte, value: number, units: KeepersUnits = {}): string {
  return `${shown(analyte, value, units)} ${shownAs(analyte, 0, units).unit}`;
}
