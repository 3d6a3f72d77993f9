import { describe, expect, it } from 'vitest';
import * as alkalinity from '#rules/quantity/alkalinity-unit.ts';
import * as amount from '#rules/quantity/amount.ts';
import { refusalOf } from '../refusal-of.ts';

// The limits are those of the docstrings: what can be of a molar mass, and of the density of water from fresh to brine, from memory.

describe('a number that is none', () => {
  it.each([
    ['alkalinity, meq/L', alkalinity.meqPerLFromDkh],
    ['alkalinity, dKH', alkalinity.dkhFromMeqPerL],
    ['alkalinity, mg/L CaCO3', alkalinity.mgPerLCaCO3FromMeqPerL],
    ['alkalinity, meq/L', alkalinity.meqPerLFromMgPerLCaCO3],
    ['alkalinity, dKH', alkalinity.dkhFromMeqPerLTradeRounded],
    ['alkalinity, meq/L', alkalinity.meqPerLFromDkhTradeRounded],
    ['concentration, mmol/L', (n: number) => amount.mmolPerLFromMgPerL(n, 40)],
    ['concentration, mg/L', (n: number) => amount.mgPerLFromMmolPerL(n, 40)],
    ['concentration, µmol/kg', (n: number) => amount.umolPerKgFromMmolPerL(n, 1.02)],
    ['concentration, mmol/L', (n: number) => amount.mmolPerLFromUmolPerKg(n, 1.02)],
    ['hardness, mg/L CaCO3', (n: number) => amount.mgPerLCaCO3FromMetal(n, 'Mg')],
  ] as const)('is turned into another unit, or the unit is not named: %s', (name, give) => {
    for (const found of [Number.NaN, Number.POSITIVE_INFINITY, Number.NEGATIVE_INFINITY])
      expect(refusalOf(() => give(found))).toMatchObject({ quantity: name });
  });

  it.each([
    ['density, kg/L', 0.9, 1.2, (n: number) => amount.umolPerKgFromMmolPerL(2, n)],
    ['density, kg/L', 0.9, 1.2, (n: number) => amount.mmolPerLFromUmolPerKg(2000, n)],
    ['molar mass, g/mol', 1, 1e6, (n: number) => amount.mmolPerLFromMgPerL(420, n)],
    ['molar mass, g/mol', 1, 1e6, (n: number) => amount.mgPerLFromMmolPerL(10, n)],
  ] as const)(
    'or lies outside what can be is counted with, or its limits are not told: %s',
    (name, low, high, give) => {
      for (const found of [0.99 * low, 1.01 * high, Number.NaN])
        expect(refusalOf(() => give(found))).toMatchObject({ quantity: name, found, allowed: `${low} to ${high}` });
      for (const found of [low, high]) expect(Number.isFinite(give(found))).toBe(true);
    },
  );
});
