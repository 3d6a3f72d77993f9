import { describe, expect, test } from 'vitest';
import { compareWithReference, salinityByElements } from '#rules/seawater/laboratory.ts';
import { reference_mg_L } from '#rules/seawater/reference-composition.ts';
import { expectLimits } from '../refusal-of.ts';
import { referenceTable } from './reference-table.ts';

// Millero et al. 2008, table 4: fixtures/reference/seawater-reference-composition.csv. EOS-80 has 1.0233431 kg/L for S = 35 at 25 °C
// (fixtures/reference/carbonate-system.csv).
const rows = referenceTable('seawater-reference-composition', 15);
const grams = (solute: string): number =>
  rows.find((row) => row.text('solute') === solute)!.number('grams_per_kg_at_reference_salinity_35.16504');

describe('a laboratory’s table beside the sea', () => {
  test('an element is compared with another amount than the sea holds', () => {
    for (const element of ['Na', 'Mg', 'Ca', 'K', 'Sr', 'Cl', 'SO4', 'Br', 'F'] as const) {
      expect(reference_mg_L(element, 35) / (1000 * grams(element) * 1.0233431)).toBeCloseTo(1, 5);
    }
    // Sulfur of sulfate 32.06 / 96.056; boron 4.5 mg/kg: total boron of the carbonate table, 415.7 µmol/kg of 10.81 g/mol (Uppström 1974).
    expect(reference_mg_L('S', 35) / ((1000 * grams('SO4') * 1.0233431 * 32.06) / 96.056)).toBeCloseTo(1, 5);
    expect(reference_mg_L('B', 35) / 1.0233431).toBeCloseTo((415.7 * 10.81) / 1000, 1);
    expect(reference_mg_L('Ca', 31.5) / reference_mg_L('Ca', 35)).toBeCloseTo(0.9, 2);
    expectLimits(['element', (salinity) => reference_mg_L('Ca', salinity), 'salinity', 5, 42]);
  });

  test('what is furthest off is not on top, or has no cause', () => {
    const found = compareWithReference(
      [
        { element: 'Ca', value_mg_L: 1.05 * reference_mg_L('Ca', 34) },
        { element: 'K', value_mg_L: 0.7 * reference_mg_L('K', 34) },
        { element: 'SO4', value_mg_L: 1.2 * reference_mg_L('SO4', 34) },
        { element: 'Cu', value_mg_L: 0.02 },
        { element: 'F', value_mg_L: 3, isBelow: true },
      ],
      34,
    );
    expect(found.map(({ element, verdict }) => [element, verdict])).toEqual([
      ['K', 'far'],
      ['SO4', 'off'],
      ['Ca', 'near'],
      ['Cu', 'not_compared'],
      ['F', 'not_compared'],
    ]);
    expect(found[0]?.from).toContain('used by corals');
    expect(found[1]?.from).toContain('magnesium sulfate');
    expect(found[2]?.from).toBeUndefined();
  });

  test('a wrong salinity is taken for a dozen wrong elements', () => {
    const at = (salinity: number, more: Record<string, number> = {}) =>
      (['Na', 'Cl', 'Mg', 'K', 'Ca'] as const).map((element) => ({
        ...{ element, value_mg_L: (more[element] ?? 1) * reference_mg_L(element, salinity) },
      }));
    expect(salinityByElements(compareWithReference(at(31), 35), 35)).toBeCloseTo(31, 0);
    expect(salinityByElements(compareWithReference(at(35), 35), 35)).toBeUndefined();
    expect(salinityByElements(compareWithReference(at(31, { K: 0.7 }), 35), 35)).toBeUndefined();
  });
});
