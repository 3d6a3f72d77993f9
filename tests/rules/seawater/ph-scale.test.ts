import { describe, expect, it } from 'vitest';
import { OutOfRange } from '#rules/quantity/out-of-range.ts';
import { activityFactorTakahashi1982, convertPh, type PhScale, totalPhFromNbs } from '#rules/seawater/ph-scale.ts';
import { referenceTable } from './reference-table.ts';
import { WorstDifference } from './worst-difference.ts';

const column: Record<PhScale, string> = {
  total: 'ph_total',
  seawater: 'ph_seawater',
  free: 'ph_free',
  nbs: 'ph_nbs',
};

describe('pH scales', () => {
  // Table: PyCO2SYS 1.8.3.4, CO2SYS 3.1.2, seacarb 3.3.4 (fixtures/reference/README.md).
  it('a pH from any scale is the table’s pH on every other, so pCO2 is not off by a third', () => {
    const worst = new WorstDifference('pH between scales', 1e-6);
    const activity = new WorstDifference('fH', 1e-6);
    const scales = Object.keys(column) as PhScale[];
    for (const row of referenceTable('ph-scales', 40)) {
      const water = { salinity: row.number('salinity'), temperature_C: row.number('temperature_C') };
      for (const from of scales) {
        for (const to of scales) {
          const found = convertPh(row.number(column[from]), from, to, water);
          worst.add(found, row.number(column[to]), `line ${row.line} ${from} to ${to}`);
        }
      }
      activity.add(activityFactorTakahashi1982(water), row.number('takahashi_fH'), `line ${row.line}`);
    }
    worst.check();
    activity.check();
  });

  it('an NBS reading is never called surer than its liquid junction allows', () => {
    const water = { salinity: 35, temperature_C: 25 };
    const found = totalPhFromNbs({ ph: 8.2, standardUncertainty_pH: 0.02 }, water);
    expect(found.ph).toBeCloseTo(8.2 - 0.137, 3);
    expect(found.standardUncertainty_pH).toBeCloseTo(Math.sqrt(0.02 ** 2 + 0.05 ** 2 / 3), 12);
  });

  it('gives no pH outside the range of the formulas', () => {
    expect(() => convertPh(8, 'nbs', 'total', { salinity: 10, temperature_C: 25 })).toThrow(OutOfRange);
    expect(() => convertPh(8, 'total', 'total', { salinity: 35, temperature_C: 50 })).toThrow(OutOfRange);
    expect(() => convertPh(Number.NaN, 'total', 'free', { salinity: 35, temperature_C: 25 })).toThrow(OutOfRange);
  });
});
