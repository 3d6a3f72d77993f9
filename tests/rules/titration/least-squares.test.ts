import { describe, expect, it } from 'vitest';
import { leastSquares } from '#rules/titration/least-squares.ts';

/** A straight line at 0 to 4, as a fit of its height and slope. */
const lineAt = (values: readonly number[]) => (line: readonly number[]) =>
  values.map((value, x) => value - line[0]! - line[1]! * x);

describe('the fit under every titration', () => {
  // NIST Statistical Reference Datasets, nonlinear regression, Misra1a (D. Misra 1978): y = b1 (1 - exp(-b2 x)). Table and
  // certified values from memory; that they belong together shows in the certified sum of squares.
  const x = [77.6, 114.9, 141.1, 190.8, 239.9, 289.0, 332.8, 378.4, 434.8, 477.3, 536.8, 593.1, 689.1, 760.0];
  const y = [10.07, 14.73, 17.94, 23.93, 29.61, 35.18, 40.02, 44.82, 50.76, 55.05, 61.01, 66.4, 75.47, 81.78];
  const residualsAt = ([b1, b2]: readonly number[]) => x.map((at, i) => y[i]! - b1! * (1 - Math.exp(-b2! * at)));

  it.each([
    ['far away', [500, 0.0001]],
    ['near', [250, 0.0005]],
  ])('misses the certified answer of NIST from a start that is %s', (_, start) => {
    const fit = leastSquares(residualsAt, start, [1e-2, 1e-8]);
    expect(fit.hasConverged).toBe(true);
    expect(fit.parameters[0]! / 2.3894212918e2).toBeCloseTo(1, 7);
    expect(fit.parameters[1]! / 5.5015643181e-4).toBeCloseTo(1, 7);
    expect(fit.sumOfSquares).toBeCloseTo(1.2455138894e-1, 9);
    // Certified standard deviations of the parameters.
    const variance = fit.sumOfSquares / (14 - 2);
    expect(Math.sqrt(variance * fit.inverseNormal[0]![0]!)).toBeCloseTo(2.7070075241, 5);
    expect(Math.sqrt(variance * fit.inverseNormal[1]![1]!) / 7.2668688436e-6).toBeCloseTo(1, 6);
    expect(fit.residuals).toEqual(residualsAt(fit.parameters));
  });

  it('a straight line has other doubts than by hand', () => {
    const fit = leastSquares(lineAt([1, 3.1, 4.9, 7.2, 8.8]), [0, 0], [1, 1]);
    // By hand: sums over x of 1, x and x² are 5, 10, 30; of y and xy 25 and 69.7.
    expect(fit.parameters).toEqual([expect.closeTo(1.06, 6), expect.closeTo(1.97, 6)]);
    const wanted = [0.6, -0.2, -0.2, 0.1];
    for (const [place, each] of fit.inverseNormal.flat().entries()) expect(each).toBeCloseTo(wanted[place]!, 9);
    expect(fit.slopes).toEqual([
      Array(5).fill(expect.closeTo(-1, 9)),
      [0, -1, -2, -3, -4].map((n) => expect.closeTo(n, 9)),
    ]);
  });

  it('three unknowns that pull on each other are not found', () => {
    // A parabola 2 - 3x + 0.5x² through six points, exactly.
    const values = [0, 1, 2, 3, 4, 5].map((at) => 2 - 3 * at + 0.5 * at * at);
    const parabola = (of: readonly number[]) =>
      values.map((value, at) => value - of[0]! - of[1]! * at - of[2]! * at * at);
    const fit = leastSquares(parabola, [50, 50, -50], [1, 1, 1]);
    expect(fit.hasConverged).toBe(true);
    for (const [place, each] of [2, -3, 0.5].entries()) expect(fit.parameters[place]).toBeCloseTo(each, 6);
    expect(fit.sumOfSquares).toBeLessThan(1e-10);
  });

  it('a step that overshoots is taken, and the search runs away', () => {
    // Steps of Newton on the arc tangent run away from any start beyond 1.392 (Dennis & Schnabel, from memory).
    const fit = leastSquares((of) => [Math.atan(of[0]!)], [3], [1e-5]);
    expect(fit.hasConverged).toBe(true);
    expect(fit.parameters[0]).toBeCloseTo(0, 8);
  });

  it('an unknown that is right already ends the search for the other', () => {
    const fit = leastSquares(([one, other]) => [one! - 1, other! - 5, other! - 5], [1, 0], [1, 1]);
    expect(fit.hasConverged).toBe(true);
    expect(fit.parameters[1]).toBeCloseTo(5, 6);
  });

  it('a start that is the answer is not taken for one', () => {
    const fit = leastSquares(lineAt([1, 3, 5, 7, 9]), [1, 2], [1, 1]);
    expect(fit).toMatchObject({ hasConverged: true, parameters: [1, 2], sumOfSquares: 0 });
  });

  it.each([
    ['two unknowns that do the same', (of: readonly number[]) => [1, 2, 3].map((each) => each - of[0]! - of[1]!)],
    ['an unknown that does nothing', (of: readonly number[]) => [1, 2, 3].map((each) => each - of[0]!)],
    ['points that are no numbers', () => [Number.NaN, 1, 2]],
  ])('an answer is given where the points tell none: %s', (_, residuals) => {
    expect(leastSquares(residuals, [0, 0], [1, 1])).toMatchObject({ hasConverged: false, inverseNormal: [] });
  });

  it('a sum that falls for ever is taken for a fit', () => {
    // e^-p goes to nothing and never gets there.
    const fit = leastSquares((of) => [Math.exp(-of[0]! / 50), Math.exp(-of[0]! / 40)], [0], [1e-9]);
    expect(fit.hasConverged).toBe(false);
  });
});
