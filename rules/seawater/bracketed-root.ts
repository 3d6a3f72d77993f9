import { OutOfRange } from '../quantity/out-of-range.ts';

/** A smooth function with its slope at the same place. */
export type ValueAndSlope = { value: number; slope: number };

/**
 * Where a function crosses zero: Newton's method inside a bracket. A step that would leave the bracket, or that shrinks
 * it too slowly, is replaced by a halving, so that the search always ends, whatever the slope says.
 *
 * @param quantity  what is sought, with unit, for the message
 * @param f  finite and continuous in the bracket; its sign at the two ends differs (or it is zero at one)
 * @param low  lower end of the bracket
 * @param high  upper end of the bracket
 * @returns the root, exact to the last digits of a double (or as exact as f itself is)
 * @throws OutOfRange  when f has one sign at both ends: the root lies outside the bracket
 * @source Press et al., Numerical Recipes, section 9.4 (the idea; written anew)
 */
export function rootInBracket(
  quantity: string,
  f: (place: number) => ValueAndSlope,
  low: number,
  high: number,
): number {
  const atLow = f(low).value;
  const atHigh = f(high).value;
  if (atLow === 0) return low;
  if (atHigh === 0) return high;
  if (!(atLow < 0 !== atHigh < 0) || Number.isNaN(atLow) || Number.isNaN(atHigh)) {
    throw new OutOfRange(quantity, Math.abs(atLow) < Math.abs(atHigh) ? low : high, `inside ${low} to ${high}`);
  }
  let negative = atLow < 0 ? low : high;
  let positive = atLow < 0 ? high : low;
  let place = (low + high) / 2;
  // Halving a bracket down to the smallest double takes some 1100 halvings, and every third step is one.
  for (let step = 0; step < 4200; step += 1) {
    const { value, slope } = f(place);
    if (value === 0) return place;
    if (value < 0) negative = place;
    else positive = place;
    const middle = (negative + positive) / 2;
    const lastDigits = 8 * Number.EPSILON * Math.abs(place);
    if (Math.abs(positive - negative) <= 2 * lastDigits || middle === negative || middle === positive) return place;
    const change = -value / slope;
    // A step below the last digits is stretched, so that it crosses the root and closes the bracket from the other side:
    // a small step alone proves nothing when the slope is wrong.
    const newton = place + (Math.abs(change) < lastDigits ? Math.sign(change) * lastDigits : change);
    const isInside = newton > Math.min(negative, positive) && newton < Math.max(negative, positive);
    place = isInside && step % 3 !== 2 ? newton : middle;
  }
  return place;
}
