import { describe, expect, it } from 'vitest';
import { OutOfRange } from '#rules/quantity/out-of-range.ts';
import { interpolate, type Table } from '#rules/quantity/table-interpolation.ts';
import { cellFactorFromStandard } from '#rules/seawater/conductivity-cell.ts';
import {
  type KclStandard,
  kclConductivity_mS_cm,
  kclStandards,
  kclTolerance_percent,
  waterInAirConductivity_mS_cm,
} from '#rules/seawater/conductivity-standard.ts';
import { conductivityFromPracticalSalinity } from '#rules/seawater/practical-salinity.ts';
import { referenceTable } from './reference-table.ts';
import { WorstDifference } from './worst-difference.ts';

const rows = referenceTable('conductivity-standards', 114);

function isKclStandard(id: string): id is KclStandard {
  return (kclStandards as string[]).includes(id);
}

describe('conductivity standards', () => {
  // Tables: IUPAC 2001 (Pratt et al.), OIML demal solutions, TEOS-10 GSW for seawater (fixtures/reference/README.md).
  it('have the conductivity of the reference table in all of its 114 rows', () => {
    const kcl = new WorstDifference('KCl and water on table points, mS/cm', 1e-12);
    const seawater = new WorstDifference('seawater of S = 35, mS/cm', 1e-6);
    for (const row of rows) {
      const id = row.text('solution_id');
      const [temperature_C, expected] = [row.number('temperature_C'), row.number('conductivity_mS_cm')];
      const place = `${id} line ${row.line}`;
      if (id === 'seawater_S35') {
        seawater.add(conductivityFromPracticalSalinity(35, temperature_C), expected, place);
      } else if (id === 'water_co2_saturated') {
        kcl.add(waterInAirConductivity_mS_cm(temperature_C), expected, place);
      } else {
        if (!isKclStandard(id)) throw new Error(`no standard ${id}`);
        kcl.add(kclConductivity_mS_cm(id, temperature_C), expected, place);
        expect(kclTolerance_percent(id), place).toBe(row.number('relative_tolerance_percent'));
      }
    }
    kcl.check();
    seawater.check();
  });

  it('of IUPAC are as good between two rows: a row left out is found again from its neighbours', () => {
    for (const id of ['kcl_0.01_molal', 'kcl_0.1_molal', 'kcl_1_molal'] as const) {
      const table: Table = rows
        .filter((row) => row.text('solution_id') === id)
        .map((row) => [row.number('temperature_C'), row.number('conductivity_mS_cm')]);
      const worst = new WorstDifference(`${id} from its neighbours`, kclTolerance_percent(id) / 100, true);
      for (const [place, value] of table.slice(1, -1)) {
        const others = table.filter(([other]) => other !== place);
        worst.add(interpolate('°C', others, place), value, `${place} °C`);
      }
      worst.check();
    }
  });

  // The other tables are too coarse to lose a row. Conductivity of KCl moves with temperature nearly alike at like
  // strength, so each must run in step with the nearest IUPAC series (fixtures/reference/README.md: 0.08 % for the three
  // stronger demal solutions, 0.26 % for 1413 µS/cm, 0.5 % and 0.7 % for the weak two, which are further off in strength).
  it('of the trade run in step with IUPAC’s between rows as well', () => {
    const series: [KclStandard, KclStandard, number][] = [
      ['kcl_0.01_demal', 'kcl_0.01_molal', 0.1],
      ['kcl_0.1_demal', 'kcl_0.1_molal', 0.1],
      // One decimal at 18, 20 and 35 °C; the 10 °C gap above 25 multiplies its rounding. kclConductivity_mS_cm says so.
      ['kcl_1_demal', 'kcl_1_molal', 0.2],
      ['kcl_12.88mS', 'kcl_0.1_molal', 0.1],
      ['kcl_1413uS', 'kcl_0.01_molal', 0.3],
      ['kcl_0.001_demal', 'kcl_0.01_molal', 0.6],
      ['kcl_84uS', 'kcl_0.01_molal', 1],
    ];
    for (const [id, iupac, tolerance_percent] of series) {
      const worst = new WorstDifference(`${id} beside ${iupac}`, tolerance_percent / 100, true);
      const scale = kclConductivity_mS_cm(id, 25) / kclConductivity_mS_cm(iupac, 25);
      const lowest_C = id.endsWith('demal') ? 15 : 10;
      for (let temperature_C = lowest_C; temperature_C <= lowest_C + 20; temperature_C += 0.5) {
        const expected = scale * kclConductivity_mS_cm(iupac, temperature_C);
        worst.add(kclConductivity_mS_cm(id, temperature_C), expected, `${temperature_C} °C`);
      }
      worst.check();
    }
  });

  it('are refused outside their table', () => {
    expect(() => kclConductivity_mS_cm('kcl_1413uS', 31)).toThrow(OutOfRange);
    expect(() => kclConductivity_mS_cm('kcl_0.1_molal', -0.1)).toThrow(OutOfRange);
    expect(() => kclConductivity_mS_cm('kcl_0.1_molal', Number.NaN)).toThrow(OutOfRange);
  });
});

describe('a conductivity probe in a standard', () => {
  it('that shows 3 % too little gets the factor that makes it right, with what is left in doubt', () => {
    const check = cellFactorFromStandard(0.97 * 12.88, 25, 0.1, { kcl: 'kcl_12.88mS' });
    expect(check.factor).toBeCloseTo(1 / 0.97, 10);
    expect(check.error_percent).toBeCloseTo(-3, 10);
    // 0.3 % even within its limits is 0.173 %; KCl rises by 1.89 % per °C at 25 °C (IUPAC 2001: 1.911 at 0.1 mol/kg).
    expect(check.standardUncertainty_percent).toBeCloseTo(Math.hypot(0.1732, 0.189), 2);
  });

  it('in an IUPAC standard also sees the water that the table left out: 0.08 % at 0.01 mol/kg', () => {
    const check = cellFactorFromStandard(1.40823, 25, 0, { kcl: 'kcl_0.01_molal' });
    expect(check.standard_mS_cm).toBeCloseTo(1.40823 + 0.0011, 12);
  });

  // Sensitivities at S = 35, 25 °C (fixtures/reference: 0.74 salinity per mS/cm, -0.77 per °C).
  it('in seawater of S = 35 is judged by its temperature and by how sure that salinity is', () => {
    const inSeawater = { seawaterSalinity: 35, salinityStandardUncertainty: 0.1 };
    const check = cellFactorFromStandard(53.065, 25, 0, inSeawater);
    expect(check.factor).toBeCloseTo(1, 3);
    const conductivityDoubt_mS_cm = (check.standardUncertainty_percent / 100) * check.standard_mS_cm;
    expect(conductivityDoubt_mS_cm * 0.74).toBeCloseTo(0.1, 2);
    const warmer = cellFactorFromStandard(53.065, 25, 0.1, { ...inSeawater, salinityStandardUncertainty: 0 });
    expect(((warmer.standardUncertainty_percent / 100) * warmer.standard_mS_cm * 0.74) / 0.077).toBeCloseTo(1, 1);
  });

  it('that shows half or double is in the wrong standard, not in need of a factor', () => {
    expect(() => cellFactorFromStandard(2.9, 25, 0, { kcl: 'kcl_1413uS' })).toThrow(/cell factor/);
    expect(() => cellFactorFromStandard(0.7, 25, 0, { kcl: 'kcl_1413uS' })).toThrow(/cell factor/);
    expect(() => cellFactorFromStandard(1413, 25, 0, { kcl: 'kcl_1413uS' })).toThrow(OutOfRange);
    expect(() => cellFactorFromStandard(0, 25, 0, { kcl: 'kcl_1413uS' })).toThrow(OutOfRange);
    expect(() => cellFactorFromStandard(1.4, 25, -1, { kcl: 'kcl_1413uS' })).toThrow(OutOfRange);
    const impossible = { seawaterSalinity: 50, salinityStandardUncertainty: 0 };
    expect(() => cellFactorFromStandard(53, 25, 0, impossible)).toThrow(OutOfRange);
  });
});
