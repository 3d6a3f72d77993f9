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
 * @returns the root, exact to a few units in the last place of the double (or as exact as f itself is)
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
  // Two halvings of a double's 2100 binades are the worst case; Newton ends it in under ten steps as a rule.
  for (let step = 0; step < 4200; step += 1) {
    const { value, slope } = f(place);
    if (value === 0) return place;
    if (value < 0) negative = place;
    else positive = place;
    const middle = (negative + positive) / 2;
    const newton = place - value / slope;
    const isInside = newton > Math.min(negative, positive) && newton < Math.max(negative, positive);
    // Every third step halves, so that a bracket closed from one side only still shrinks for certain.
    const next = isInside && step % 3 !== 2 ? newton : middle;
    if (next === place || Math.abs(next - place) <= 2 ** -52 * Math.abs(next)) return next;
    if (middle === negative || middle === positive) return place;
    place = next;
  }
  return place;
}
