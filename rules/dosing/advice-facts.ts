import type { DemandAnalyte } from '../trend/demand-facts.ts';
import type { RiseQuantity } from './stoichiometry.ts';

/** What advice takes as given for an analyte where the keeper has said nothing else. */
export type AdviceFacts = {
  label: string;
  unit: 'dKH' | 'mg/L';
  decimals: number;
  quantity: RiseQuantity;
  /** Most net rise or fall a day when the band does not say. */
  mostPerDay: number;
  /** A test older than this many days does not carry a dose when the keeper has set no interval of his own. */
  testGoodForDays: number;
};

/** @source common practice, no published source */
export const adviceFacts: Record<DemandAnalyte, AdviceFacts> = {
  alkalinity: {
    ...{ label: 'Alkalinity', unit: 'dKH', decimals: 2, quantity: 'alkalinity_dKH' },
    ...{ mostPerDay: 0.5, testGoodForDays: 5 },
  },
  calcium: {
    ...{ label: 'Calcium', unit: 'mg/L', decimals: 0, quantity: 'calcium_mg_L' },
    ...{ mostPerDay: 15, testGoodForDays: 10 },
  },
  magnesium: {
    ...{ label: 'Magnesium', unit: 'mg/L', decimals: 0, quantity: 'magnesium_mg_L' },
    ...{ mostPerDay: 40, testGoodForDays: 21 },
  },
};

/** Days that advice looks ahead. */
export const daysAhead = 7;

export const dayMs = 86_400_000;

/** A number for a sentence, in the analyte's own decimals. */
export function shown(analyte: DemandAnalyte, value: number): string {
  const { decimals } = adviceFacts[analyte];
  // Small daily amounts of calcium and magnesium would all read 0 or 1 without a decimal.
  const needed = Math.abs(value) < 10 && decimals === 0 ? 1 : decimals;
  const text = value.toFixed(needed);
  return Number(text) === 0 ? (0).toFixed(needed) : text.replace('-', '\u2212');
}
