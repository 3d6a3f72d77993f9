/**
 * The second number of a table of pairs that belongs to a first one: on the straight line between the two pairs around it,
 * and beyond the ends on that of the last two. Used by the hub and by the page.
 *
 * @param points  pairs, the first numbers rising; fewer than two give the number back
 */
export function alongTable(points: readonly (readonly [number, number])[], value: number): number {
  const after = points.findIndex(([from]) => from >= value);
  const at = after === -1 ? points.length - 1 : Math.max(1, after);
  const [one, other] = [points[at - 1], points[at]];
  if (one === undefined || other === undefined) return value;
  return one[1] + ((value - one[0]) / (other[0] - one[0])) * (other[1] - one[1]);
}
