/**
 * The one error that a formula of `rules/` throws: an input, or the result, lies outside the range in which its source
 * holds. It says which quantity, what was found and what is allowed, so that a caller can tell a person or give no value.
 */
export class OutOfRange extends Error {
  readonly code = 'OUT_OF_RANGE';
  readonly quantity: string;
  readonly found: number;
  readonly allowed: string;

  constructor(quantity: string, found: number, allowed: string) {
    super(`${quantity} is ${found}, allowed: ${allowed}`);
    this.name = 'OutOfRange';
    this.quantity = quantity;
    this.found = found;
    this.allowed = allowed;
  }
}

/**
 * Gives the number back when it is finite and lies in the closed range, else throws.
 *
 * @param quantity  name with unit, for the message
 * @throws OutOfRange  for NaN, an infinity, or a number outside [low, high]
 */
export function within(quantity: string, found: number, low: number, high: number): number {
  if (!(found >= low && found <= high)) throw new OutOfRange(quantity, found, `${low} to ${high}`);
  return found;
}
