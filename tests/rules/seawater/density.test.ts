import { describe, expect, it } from 'vitest';
import { OutOfRange } from '#rules/quantity/out-of-range.ts';
import { densityFromSalinityEos80 } from '#rules/seawater/density.ts';
import {
  salinityFromSpecificGravity,
  specificGravity25FromSalinity,
  specificGravityFromSalinity,
  specificGravityPairs,
} from '#rules/seawater/specific-gravity.ts';
import { referenceTable } from './reference-table.ts';
import { WorstDifference } from './worst-difference.ts';

const rows = referenceTable('seawater-density', 228);

describe('density of seawater', () => {
  // Table: python-seawater and UNESCO 44 Fortran (EOS-80), GSW (TEOS-10) (fixtures/reference/README.md).
  it('is that of EOS-80 in all of the 228 reference waters, and within 0.01 kg/m³ of TEOS-10', () => {
    const eos80 = new WorstDifference('density EOS-80, kg/m³', 1e-6);
    const pure = new WorstDifference('pure water EOS-80, kg/m³', 1e-6);
    const teos10 = new WorstDifference('density against TEOS-10, kg/m³', 0.01);
    for (const row of rows) {
      const [salinity, temperature_C] = [row.number('practical_salinity'), row.number('temperature_C')];
      const found = densityFromSalinityEos80(salinity, temperature_C);
      eos80.add(found, row.number('density_eos80_kg_m3'), `line ${row.line}`);
      teos10.add(found, row.number('density_teos10_kg_m3'), `line ${row.line}`);
      const fresh = densityFromSalinityEos80(0, temperature_C);
      pure.add(fresh, row.number('pure_water_density_eos80_kg_m3'), `line ${row.line}`);
    }
    eos80.check();
    pure.check();
    teos10.check();
  });

  // UNESCO 44 (1983) p. 19, Millero & Poisson 1981.
  it('meets the six published check values at one atmosphere', () => {
    const checks = referenceTable('seawater-check-values', 58).filter(
      (row) => row.text('quantity') === 'density_eos80_one_atmosphere',
    );
    expect(checks).toHaveLength(6);
    for (const row of checks) {
      const found = densityFromSalinityEos80(row.number('salinity'), row.number('temperature_its90_C'));
      expect(Math.abs(found - row.number('expected')), row.text('id')).toBeLessThanOrEqual(row.number('tolerance'));
    }
  });

  // IAPWS-08, Feistel 2008 table 21: another equation of state, so only within what the two may differ by.
  it('of standard seawater at 0 °C is within 0.01 kg/m³ of IAPWS-08', () => {
    const [row] = referenceTable('seawater-check-values', 58).filter((each) => each.text('id') === 'iapws08_density');
    const practicalSalinity = (row!.number('salinity') * 35) / 35.16504;
    const found = densityFromSalinityEos80(practicalSalinity, row!.number('temperature_its90_C'));
    expect(Math.abs(found - row!.number('expected'))).toBeLessThan(0.01);
  });

  it('is refused outside the equation’s range', () => {
    for (const [salinity, temperature_C] of [
      [-0.1, 25],
      [42.1, 25],
      [35, -2.1],
      [35, 40.1],
      [Number.NaN, 25],
    ] as const) {
      expect(() => densityFromSalinityEos80(salinity, temperature_C)).toThrow(OutOfRange);
    }
  });
});

describe('specific gravity', () => {
  // Same table; the ratios by EOS-80.
  it('at each stated pair is that of the table, and gives the salinity back', () => {
    const pairs = [
      ['sg_20_20', specificGravityPairs['20/20']],
      ['sg_25_25', specificGravityPairs['25/25']],
      ['sg_60F_60F', specificGravityPairs['60F/60F']],
    ] as const;
    const worst = new WorstDifference('specific gravity', 1e-8);
    const back = new WorstDifference('salinity from specific gravity', 1e-6);
    for (const row of rows) {
      const [salinity, temperature_C] = [row.number('practical_salinity'), row.number('temperature_C')];
      const same = { seawater_C: temperature_C, pureWater_C: temperature_C };
      for (const [column, pair] of [...pairs, ['sg_same_temperature', same] as const]) {
        worst.add(specificGravityFromSalinity(salinity, pair), row.number(column), `${column} line ${row.line}`);
        // At 42 the printed ratio may lie half a last digit beyond the edge, where there is no salinity.
        const printed = Math.min(row.number(column), specificGravityFromSalinity(42, pair));
        back.add(salinityFromSpecificGravity(printed, pair), salinity, `${column} line ${row.line}`);
      }
      worst.add(specificGravity25FromSalinity(salinity), row.number('sg_25_25'), `25 line ${row.line}`);
    }
    worst.check();
    back.check();
  });

  it('of fresh water or brine beyond the equation has no salinity', () => {
    for (const gravity of [0.999, 1.04, Number.NaN]) {
      expect(() => salinityFromSpecificGravity(gravity, specificGravityPairs['25/25'])).toThrow(OutOfRange);
    }
  });
});
