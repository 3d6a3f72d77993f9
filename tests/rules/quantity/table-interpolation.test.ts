import { expect, test } from 'vitest';
import { OutOfRange } from '#rules/quantity/out-of-range.ts';
import { interpolate, type Table } from '#rules/quantity/table-interpolation.ts';

/** Through four points goes one cubic, so a table of a cubic is met everywhere: Lagrange's formula. */
const cubic = (x: number) => 0.5 * x ** 3 - 2 * x ** 2 + 3 * x - 7;
const places = [0, 1, 2.5, 3, 4, 6, 7];
const table: Table = places.map((place) => [place, cubic(place)]);

test('a value between two rows of a buffer’s table is not that of the smooth curve through them', () => {
  // A table need not begin at 0.
  const later: Table = table.map(([place, value]) => [place + 5, value]);
  for (let place = 0; place <= 7; place += 0.125) {
    expect(interpolate('place', table, place)).toBeCloseTo(cubic(place), 10);
    expect(interpolate('place', later, place + 5)).toBeCloseTo(cubic(place), 10);
  }
});

test('a row itself gives another value than was published, to the last bit', () => {
  const rough: Table = places.map((place, at) => [place, [4.1, 9.2, 6.7, 6.9, 4.0, 10.0, 12.5][at]!]);
  for (const [place, value] of rough) expect(interpolate('place', rough, place)).toBe(value);
});

test('rows far away pull at a value, or the four at an end are not used', () => {
  // Of a table with one wild row: it counts in the four next to a place and nowhere else.
  const wild: Table = Array.from({ length: 10 }, (_, place) => [place, place === 4 ? 100 : 0]);
  const counts = (place: number) => interpolate('place', wild, place) !== 0;
  expect([0.5, 1.5, 2.5, 3.5, 4.5, 5.5, 6.5, 7.5, 8.5].map(counts)).toEqual([
    ...[false, false, true, true, true, true],
    ...[false, false, false],
  ]);
  // By hand, at half way: -1/16, 9/16, 9/16, -1/16.
  expect(interpolate('place', wild, 2.5)).toBeCloseTo(-100 / 16, 10);
  expect(interpolate('place', wild, 3.5)).toBeCloseTo(900 / 16, 10);
  const four: Table = table.slice(0, 4);
  for (const place of [0.5, 2, 2.9]) expect(interpolate('place', four, place)).toBeCloseTo(cubic(place), 10);
});

test('a curve is carried past the end of its table, or nothing becomes a number', () => {
  for (const place of [-0.001, 7.001, Number.NaN, Number.POSITIVE_INFINITY])
    expect(() => interpolate('temperature, °C', table, place)).toThrow(OutOfRange);
  expect(() => interpolate('temperature, °C', table, 8)).toThrow('temperature, °C is 8, allowed: 0 to 7');
  expect(() => interpolate('temperature, °C', [], 8)).toThrow(OutOfRange);
});
