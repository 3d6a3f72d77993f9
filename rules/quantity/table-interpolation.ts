import { within } from './out-of-range.ts';

/** A published table: pairs of place and value, places rising. */
export type Table = readonly (readonly [place: number, value: number])[];

/**
 * A value between the rows of a smooth published table: the cubic through the two rows on either side, at the ends through
 * the four outermost. On a row it gives that row's value exactly; nothing is carried past the ends.
 *
 * @param quantity  name with unit of the place, for the message
 * @param table  at least four rows, places rising
 * @param place  from the first to the last row's place
 * @throws OutOfRange  for a place outside the table
 * @source Lagrange's interpolation formula
 */
export function interpolate(quantity: string, table: Table, place: number): number {
  const first = table[0]?.[0] ?? Number.NaN;
  const last = table.at(-1)?.[0] ?? Number.NaN;
  within(quantity, place, first, last);
  const above = table.findIndex(([rowPlace]) => rowPlace >= place);
  const start = Math.min(Math.max(above - 2, 0), table.length - 4);
  const rows = table.slice(start, start + 4);
  let sum = 0;
  for (const [here, value] of rows) {
    let weight = value;
    for (const [there] of rows) if (there !== here) weight *= (place - there) / (here - there);
    sum += weight;
  }
  return sum;
}
