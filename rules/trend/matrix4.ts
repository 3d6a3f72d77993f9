import { OutOfRange } from '../quantity/out-of-range.ts';

/** A 4 × 4 matrix, row by row, 16 numbers. */
export type Matrix4 = readonly number[];

/** Rows of the identity. Exact. */
export const identity4: Matrix4 = [1, 0, 0, 0, 0, 1, 0, 0, 0, 0, 1, 0, 0, 0, 0, 1];

/** F P Fᵀ, P symmetric. */
export function sandwich(f: Matrix4, p: Matrix4): number[] {
  const half = product(f, p);
  const whole = new Array<number>(16);
  for (let row = 0; row < 4; row++)
    for (let column = row; column < 4; column++) {
      let sum = 0;
      for (let k = 0; k < 4; k++) sum += half[row * 4 + k]! * f[column * 4 + k]!;
      whole[row * 4 + column] = sum;
      whole[column * 4 + row] = sum;
    }
  return whole;
}

/** The product of two matrices. */
export function product(left: Matrix4, right: Matrix4): number[] {
  const result = new Array<number>(16);
  for (let row = 0; row < 4; row++)
    for (let column = 0; column < 4; column++) {
      let sum = 0;
      for (let k = 0; k < 4; k++) sum += left[row * 4 + k]! * right[k * 4 + column]!;
      result[row * 4 + column] = sum;
    }
  return result;
}

/** The matrix with rows and columns swapped. */
export function transposed(of: Matrix4): number[] {
  return of.map((_, k) => of[(k % 4) * 4 + Math.floor(k / 4)]!);
}

/**
 * The inverse, by Gauss and Jordan with the largest pivot of each column.
 *
 * @throws OutOfRange  for a matrix without an inverse
 */
export function inverse(of: Matrix4): number[] {
  const rows = [0, 1, 2, 3].map((row) => [...of.slice(row * 4, row * 4 + 4), ...identity4.slice(row * 4, row * 4 + 4)]);
  for (let column = 0; column < 4; column++) {
    let pivot = column;
    for (let row = column + 1; row < 4; row++)
      if (Math.abs(rows[row]![column]!) > Math.abs(rows[pivot]![column]!)) pivot = row;
    const lead = rows[pivot]!;
    rows[pivot] = rows[column]!;
    const scale = lead[column]!;
    if (scale === 0 || !Number.isFinite(scale)) throw new OutOfRange('pivot of a matrix', scale, 'other than 0');
    const unit = lead.map((entry) => entry / scale);
    rows[column] = unit;
    for (let row = 0; row < 4; row++) {
      const share = rows[row]![column]!;
      if (row !== column) rows[row] = rows[row]!.map((entry, k) => entry - share * unit[k]!);
    }
  }
  return rows.flatMap((row) => row.slice(4));
}
