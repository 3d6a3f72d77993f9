import { expect, test } from 'vitest';
import { limeWaterRoom_L_day, saturatedLime_g_L } from '#rules/dosing/lime-water.ts';
import { expectLimits } from '../refusal-of.ts';
import { referenceTable } from '../seawater/reference-table.ts';

test('lime water is taken for stronger or weaker than the handbook has it', () => {
  for (const row of referenceTable('calcium-hydroxide-solubility', 5))
    expect(saturatedLime_g_L(row.number('temperature_C'))).toBeCloseTo(10 * row.number('grams_per_100_g_water'), 9);
  // Between its rows: 1.6 g/kg at 25 °C (fixtures/reference/README.md), and no bump.
  expect(saturatedLime_g_L(25)).toBeCloseTo(1.59, 2);
  for (let t = 0; t < 40; t += 1) expect(saturatedLime_g_L(t)).toBeGreaterThan(saturatedLime_g_L(t + 1));
  // The saturated buffer of pH 12.45 holds 0.0203 mol/L at 25 °C (Bates, Bower & Smith 1956, J. Res. NBS 56; from memory): 1.50 g/L.
  expect(Math.abs(saturatedLime_g_L(25) / (0.0203 * 74.092) - 1)).toBeLessThan(0.07);
  expectLimits(['temperature', saturatedLime_g_L, 'temperature of the lime water, °C', 0, 40]);
});

test('more lime water goes in than evaporates', () => {
  expect(limeWaterRoom_L_day(4, 0.5)).toBe(3.5);
  expect(limeWaterRoom_L_day(0.3, 0.5)).toBe(0);
  expect(() => limeWaterRoom_L_day(-1, 0)).toThrow('evaporation');
});
