import { describe, expect, it } from 'vitest';
import { OutOfRange } from '#rules/quantity/out-of-range.ts';
import { calciumFromEdta, magnesiumByDifference, totalHardnessFromEdta } from '#rules/titration/hardness-titration.ts';
import { referenceTable } from '../seawater/reference-table.ts';

const relative = (found: number, expected: number): number => Math.abs(found / expected - 1);

describe('calcium and magnesium by EDTA', () => {
  // Table: 1:1 arithmetic with IUPAC 2021 weights (fixtures/reference/README.md).
  it.each(referenceTable('calcium-magnesium-titrations', 20))('reads row %# as the reference does', (row) => {
    const titration = {
      sample_mL: row.number('sample_volume_mL'),
      predilutionFactor: row.number('predilution_factor'),
      edta_mol_L: row.number('edta_mol_L'),
    };
    const calcium_mL = row.number('edta_volume_calcium_mL');
    const total_mL = row.number('edta_volume_total_hardness_mL');
    const calcium = calciumFromEdta(titration, calcium_mL);
    const hardness = totalHardnessFromEdta(titration, total_mL);
    const magnesium = magnesiumByDifference(titration, calcium_mL, total_mL);
    const pairs: [number, string][] = [
      [calcium.mmol_L, 'calcium_mmol_L'],
      [calcium.mg_L, 'calcium_mg_L'],
      [hardness.mmol_L, 'total_hardness_mmol_L'],
      [hardness.mg_L_CaCO3, 'total_hardness_mg_L_as_CaCO3'],
      [magnesium.mmol_L, 'magnesium_mmol_L_by_difference'],
      [magnesium.mg_L, 'magnesium_mg_L_by_difference'],
    ];
    for (const [found, column] of pairs) expect(relative(found, row.number(column)), column).toBeLessThan(1e-6);
  });

  // By hand: 0.02 mL of 0.01 mol/L on 5 mL is 0.04 mmol/L. Calcium 1.603 mg/L; magnesium from two volumes √2 × 0.04 × 24.305.
  it('is less sure of magnesium than of calcium, having read two volumes for it', () => {
    const titration = { sample_mL: 5, predilutionFactor: 1, edta_mol_L: 0.01, volumeSd_mL: 0.02 };
    expect(calciumFromEdta(titration, 5).sd_mg_L).toBeCloseTo(0.04 * 40.078, 6);
    expect(magnesiumByDifference(titration, 5, 35).sd_mg_L).toBeCloseTo(Math.SQRT2 * 0.04 * 24.305, 6);
  });

  it('refuses more titrant for calcium than for calcium and magnesium together', () => {
    const titration = { sample_mL: 5, predilutionFactor: 1, edta_mol_L: 0.01 };
    expect(() => magnesiumByDifference(titration, 36, 5)).toThrow(OutOfRange);
    expect(() => calciumFromEdta({ ...titration, sample_mL: 0 }, 5)).toThrow(OutOfRange);
  });
});
