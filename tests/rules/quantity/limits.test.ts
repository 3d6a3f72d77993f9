import { describe, expect, it } from 'vitest';
import * as alkalinity from '#rules/quantity/alkalinity-unit.ts';
import { umolPerKgFromMmolPerL } from '#rules/quantity/amount.ts';
import { refusalOf } from '../refusal-of.ts';

// The limits are those of the docstrings: what can be of the density of water from fresh to brine, from memory.

describe('a number that is none', () => {
  it.each([
    ['alkalinity, meq/L', alkalinity.meqPerLFromDkh],
    ['alkalinity, dKH', alkalinity.dkhFromMeqPerL],
    ['concentration, µmol/kg', (n: number) => umolPerKgFromMmolPerL(n, 1.02)],
  ] as const)('is turned into another unit, or the unit is not named: %s', (name, give) => {
    for (const found of [Number.NaN, Number.POSITIVE_INFINITY, Number.NEGATIVE_INFINITY])
      expect(refusalOf(() => give(found))).toMatchObject({ quantity: name });
  });

  it.each([['density, kg/L', 0.9, 1.2, (n: number) => umolPerKgFromMmolPerL(2, n)]] as const)(
    'or lies outside what can be is counted with, or its limits are not told: %s',
    (name, low, high, give) => {
      for (const found of [0.99 * low, 1.01 * high, Number.NaN])
        expect(refusalOf(() => give(found))).toMatchObject({ quantity: name, found, allowed: `${low} to ${high}` });
      for (const found of [low, high]) expect(Number.isFinite(give(found))).toBe(true);
    },
  );
});
