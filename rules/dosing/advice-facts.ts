import type { KeepersUnits } from '../quantity/band.ts';
import type { DemandAnalyte } from '../trend/demand-facts.ts';
import { shownAs } from '../words/value-text.ts';
import type { RiseQuantity } from './stoichiometry.ts';

/** What advice takes as given for an analyte where the keeper has said nothing else. */
export type AdviceFacts = {
  label: string;
  quantity: RiseQuantity;
  /** Most net rise or fall a day when the band does not say. */
  mostPerDay: number;
  /** A test older than this many days does not carry a dose when the keeper has set no interval of his own. */
  testGoodForDays: number;
};

/** @source common practice, no published source */
export const adviceFacts: Record<DemandAnalyte, AdviceFacts> = {
  alkalinity: {
    ...{ label: 'Alkalinity', quantity: 'alkalinity_dKH' },
    ...{ mostPerDay: 0.5, testGoodForDays: 5 },
  },
  calcium: {
    ...{ label: 'Calcium', quantity: 'calcium_mg_L' },
    ...{ mostPerDay: 15, testGoodForDays: 10 },
  },
  magnesium: {
    ...{ label: 'Magnesium', quantity: 'magnesium_mg_L' },
    ...{ mostPerDay: 40, testGoodForDays: 21 },
  },
};

/** Days that advice looks ahead. */
export const daysAhead = 7;

export const dayMs = 86_400_000;

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
