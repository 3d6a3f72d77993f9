import { describe, expect, test } from 'vitest';
import { atSalinity } from '#rules/seawater/at-salinity.ts';
import { expectLimits } from '../refusal-of.ts';
import { referenceTable } from './reference-table.ts';

describe('a value brought to another salinity', () => {
  // Reference Seawater keeps its proportions: what a kilogram of S = 35 holds, in a kilogram of S = 31.5 it is nine tenths.
  // @source Millero et al. 2008, Deep-Sea Research I 55, table 4 (fixtures/reference/seawater-reference-composition.csv)
  test('diluted water is taken for water that lacks calcium', () => {
    const calcium = referenceTable('seawater-reference-composition', 15).find((row) => row.text('solute') === 'Ca')!;
    const mg_kg = 1000 * calcium.number('grams_per_kg_at_reference_salinity_35.16504');
    expect(mg_kg).toBeCloseTo(412.08, 6);
    expect(atSalinity(0.9 * mg_kg, 31.5)).toBeCloseTo(mg_kg, 6);
    expect(atSalinity(mg_kg, 35, 31.5)).toBeCloseTo(0.9 * mg_kg, 6);
    expect(atSalinity(8.05, 35)).toBe(8.05);
  });

  test('fresh water, or no number, is brought to a salinity', () => {
    expectLimits(['value', (salinity) => atSalinity(8, salinity), 'salinity', 5, 50]);
    expectLimits(['value', (target) => atSalinity(8, 35, target), 'target salinity', 5, 50]);
  });
});
