/** Student's t for 95 % by degrees of freedom. @source JCGM 100:2008, table G.2 */
const t95: readonly [freedom: number, t: number][] = [
  ...[
    12.71, 4.3, 3.18, 2.78, 2.57, 2.45, 2.36, 2.31, 2.26, 2.23, 2.2, 2.18, 2.16, 2.14, 2.13, 2.12, 2.11, 2.1, 2.09,
  ].map((t, index): [number, number] => [index + 1, t]),
  [20, 2.09],
  [25, 2.06],
  [30, 2.04],
  [40, 2.02],
  [50, 2.01],
  [100, 1.984],
];

/** The normal distribution, which the last rows approach. @source JCGM 100:2008, table G.2 */
const t95OfMany = 1.96;

/** A standard uncertainty with its degrees of freedom; infinite where it is known by other means than a few points. */
export type UncertaintyPart = { sd: number; freedom: number };

/**
 * Factor that turns a standard uncertainty into the half-width of a 95 % interval.
 *
 * @param freedom  degrees of freedom, 1 or more, also infinite; between two rows of the table the lower one counts
 * @source JCGM 100:2008, G.3 and table G.2
 */
export function coverageFactor95(freedom: number): number {
  if (freedom >= 1000) return t95OfMany;
  return t95.findLast(([from]) => from <= freedom)?.[1] ?? t95[0]![1];
}

/**
 * Independent parts of an uncertainty together: the root of their squares, and the half-width of the 95 % interval by the
 * effective degrees of freedom.
 *
 * @param parts  in one unit, sd 0 or more
 * @source JCGM 100:2008, 5.1.2 and G.4 (Welch and Satterthwaite)
 */
export function combined(parts: readonly UncertaintyPart[]): { sd: number; halfWidth95: number } {
  const sd = Math.hypot(...parts.map((part) => part.sd));
  const quotient = parts.reduce((sum, part) => sum + part.sd ** 4 / part.freedom, 0);
  const freedom = quotient > 0 ? sd ** 4 / quotient : Number.POSITIVE_INFINITY;
  return { sd, halfWidth95: coverageFactor95(freedom) * sd };
}
