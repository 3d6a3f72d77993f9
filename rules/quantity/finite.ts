import { within } from './out-of-range.ts';

/**
 * Gives the number back when it is finite, else throws. For conversions that hold for any amount, a fall included.
 *
 * @throws OutOfRange  for NaN or an infinity
 */
export function finite(quantity: string, found: number): number {
  return within(quantity, found, -Number.MAX_VALUE, Number.MAX_VALUE);
}
