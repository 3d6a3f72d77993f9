import type { KeepersUnits } from '../quantity/band.ts';
import { amountText, valueText } from '../words/value-text.ts';

/**
 * A salinity for a sentence of advice, in the keeper's unit.
 *
 * @param salinity  practical
 * @param decimals  of a practical salinity; another unit has its own
 */
export function salinityText(salinity: number, decimals: number, units: KeepersUnits = {}): string {
  return isPractical(units) ? salinity.toFixed(decimals) : valueText('salinity', salinity, units);
}

/** A difference of two salinities, or the most that one may move, in the same way. */
export function salinityChangeText(change: number, decimals: number, units: KeepersUnits = {}): string {
  return isPractical(units) ? change.toFixed(decimals) : amountText('salinity', change, units);
}

function isPractical({ salinity = '' }: KeepersUnits): boolean {
  return salinity === '';
}
