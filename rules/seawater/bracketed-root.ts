import { OutOfRange } from '../quantity/out-of-range.ts';

/**
 * Where a rising function crosses zero, by halving its bracket down to two neighbouring doubles: some sixty steps, of a microsecond
 * and less here, and no slope that could be wrong.
 *
 * @param quantity  what is sought, with unit, for the message
 * @param f  continuous in the bracket, at most 0 at its lower end and at least 0 at its upper
 * @param low  lower end of the bracket
 * @param high  upper end of the bracket
 * @returns the root, exact to the last digit of a double (or as exact as f itself is)
 * @throws OutOfRange  when f has one sign at both ends: the root lies outside the bracket
 */
export function rootInBracket(quantity: string, f: (place: number) => number, low: number, high: number): number {
  const atLow = f(low);
  if (!(atLow <= 0 && f(high) >= 0)) {
    throw new OutOfRange(quantity, atLow > 0 ? low : high, `inside ${low} to ${high}`);
  }
  let below = low;
  let above = high;
  for (;;) {
    const middle = (below + above) / 2;
    if (middle === below || middle === above) return middle;
    if (f(middle) > 0) above = middle;
    else below = middle;
  }
}
