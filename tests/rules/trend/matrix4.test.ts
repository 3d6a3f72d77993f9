import { describe, expect, it } from 'vitest';
import { OutOfRange } from '#rules/quantity/out-of-range.ts';
import { identity4, inverse, type Matrix4, product, sandwich, transposed } from '#rules/trend/matrix4.ts';

/** No two entries alike, so that a swapped row, column or sign shows. */
const one: Matrix4 = [2, -1, 3, 5, 7, 11, -13, 17, 19, 23, 29, -31, 37, 41, -43, 47];
const other: Matrix4 = [1, 4, -2, 6, 8, 9, 10, -12, 14, 15, -16, 18, 20, -21, 22, 24];

const close = (found: readonly number[], wanted: readonly number[], digits = 9): void => {
  expect(found).toHaveLength(wanted.length);
  for (const [place, entry] of found.entries()) expect(entry).toBeCloseTo(wanted[place]!, digits);
};

describe('the arithmetic under the history of a tank', () => {
  it('a product is other than rows times columns by hand, so that the past is drawn from the wrong day', () => {
    const found = product(one, other);
    // By hand: 2×1 − 1×8 + 3×14 + 5×20 = 136; 7×6 + 11×(−12) − 13×18 + 17×24 = 84; 37×(−2) + 41×10 + 43×16 + 47×22 = 2058.
    expect([found[0], found[7], found[14]]).toEqual([136, 84, 2058]);
    expect(product(one, identity4)).toEqual([...one]);
    expect(product(identity4, one)).toEqual([...one]);
  });

  it('rows and columns are swapped wrongly', () => {
    expect(transposed(one)).toEqual([2, 7, 19, 37, -1, 11, 23, 41, 3, -13, 29, -43, 5, 17, -31, 47]);
  });

  it('a spread carried on is other than the product of the three matrices', () => {
    // Symmetric, as a covariance is.
    const spread: Matrix4 = [9, 2, -1, 3, 2, 8, 4, -2, -1, 4, 7, 1, 3, -2, 1, 6];
    close(sandwich(one, spread), product(product(one, spread), transposed(one)));
  });

  it.each([
    ['as it comes', one],
    ['whose first pivot is 0', [0, 2, 3, 1, 4, 0, 1, 2, 1, 5, 0, 3, 2, 1, 4, 0]],
    ['that only swaps', [0, 0, 0, 1, 0, 0, 1, 0, 0, 1, 0, 0, 1, 0, 0, 0]],
    ['whose largest pivot is negative and last', [1e-9, 1, 0, 0, 1, 1, 0, 0, 2, 0, 1, 1, -5, 0, 1, 3]],
  ] as [string, Matrix4][])('the inverse of a matrix %s does not undo it', (_, matrix) => {
    close(product(inverse(matrix), matrix), identity4);
    close(product(matrix, inverse(matrix)), identity4);
  });

  it('a small pivot is taken where a large one is there, and the small numbers of a spread drown', () => {
    // Without the exchange of rows the 1 of the second row is lost beside 1e20 (Golub & Van Loan, the classic example).
    const matrix: Matrix4 = [1e-20, 1, 0, 0, 1, 1, 0, 0, 0, 0, 1e-20, -1, 0, 0, -1, 1];
    close(product(matrix, inverse(matrix)), identity4, 6);
  });

  it('a matrix without an inverse gives one', () => {
    expect(() => inverse([1, 2, 3, 4, 2, 4, 6, 8, 1, 0, 0, 0, 0, 1, 0, 0])).toThrow(OutOfRange);
    expect(() => inverse(Array(16).fill(Number.NaN))).toThrow(/pivot of a matrix.*other than 0/);
    expect(() => inverse(one.with(0, Number.POSITIVE_INFINITY))).toThrow(OutOfRange);
  });
});
