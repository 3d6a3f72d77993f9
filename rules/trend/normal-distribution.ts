/**
 * Share of a normal distribution below a number of standard deviations from its mean.
 *
 * @returns from 0 to 1, within 8e-8
 * @source Abramowitz & Stegun 1964, 26.2.17 (coefficients from memory; checked in tests against erf by numerical integration)
 */
export function normalShareBelow(standardDeviations: number): number {
  const size = Math.abs(standardDeviations);
  const t = 1 / (1 + 0.2316419 * size);
  const polynomial = t * (0.31938153 + t * (-0.356563782 + t * (1.781477937 + t * (-1.821255978 + t * 1.330274429))));
  const tail = (Math.exp((-size * size) / 2) / Math.sqrt(2 * Math.PI)) * polynomial;
  return standardDeviations > 0 ? 1 - tail : tail;
}

/** Standard deviations on either side of the mean that hold 95 % of a normal distribution. */
export const sdsFor95Percent = 1.96;
