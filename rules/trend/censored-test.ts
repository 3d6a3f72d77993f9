import { type Belief, tested } from './demand-model.ts';
import { normalShareBelow } from './normal-distribution.ts';

/** Below this the tail is taken by its own series: the share itself would be lost in rounding. */
const farTail = -5;

/**
 * Logarithm of the share of a normal distribution below a number of standard deviations, and the inverse Mills ratio φ/Φ there.
 *
 * @source Abramowitz & Stegun 1964, 26.2.12 for the far tail (cited from memory; checked in tests against numerical integration)
 */
export function lowerTail(deviations: number): { logShare: number; mills: number } {
  const logDensity = -(deviations * deviations) / 2 - Math.log(2 * Math.PI) / 2;
  if (deviations < farTail) {
    const square = deviations * deviations;
    const series = 1 - 1 / square + 3 / square ** 2 - 15 / square ** 3 + 105 / square ** 4;
    return { logShare: logDensity - Math.log(-deviations) + Math.log(series), mills: -deviations / series };
  }
  const share = normalShareBelow(deviations);
  return { logShare: Math.log(share), mills: Math.exp(logDensity) / share };
}

/**
 * The belief after a test that showed less than its detection limit: not zero, but anything below.
 *
 * The reading that the kit could not show is a normal one cut off at the limit. Its mean and variance take the place of a value, so
 * that level and demand keep the mean and covariance that they have given "below".
 *
 * @param limit     in the analyte's unit
 * @param variance  of one test, unit²
 * @returns `logDensity`: the logarithm of the chance of such a reading
 * @source moments of a truncated normal: Johnson, Kotz & Balakrishnan, Continuous Univariate Distributions 1, 2nd ed. (1994), 10.1;
 *   in a Kalman filter: Allik, Miller, Piovoso & Zurakowski 2016, IEEE Trans. Aerosp. Electron. Syst. 52 (both cited from memory)
 */
export function testedBelow(belief: Belief, limit: number, variance: number): { belief: Belief; logDensity: number } {
  const spread = belief.covariance[0]! + variance;
  const deviations = (limit - belief.mean[0]!) / Math.sqrt(spread);
  const { logShare, mills } = lowerTail(deviations);
  const value = belief.mean[0]! - Math.sqrt(spread) * mills;
  const left = Math.max(1e-9, 1 - deviations * mills - mills * mills);
  // The mean moves as by a test of that value; the covariance loses only what "below" tells.
  const { belief: asValue } = tested(belief, value, variance);
  const covariance = belief.covariance.map((entry, at) => {
    const [row, column] = [Math.floor(at / 4), at % 4];
    return entry - ((belief.covariance[row * 4]! * belief.covariance[column]!) / spread) * (1 - left);
  });
  return { belief: { mean: asValue.mean, covariance }, logDensity: logShare };
}
