import { describe, expect, it } from 'vitest';
import { aragoniteKspMucci1983, calciteKspMucci1983 } from '#rules/seawater/calcium-carbonate.ts';
import { fugacityOverPressureWeiss1974, solubilityK0Weiss1974 } from '#rules/seawater/carbon-dioxide-gas.ts';
import {
  bisulfateKsDickson1990,
  boricKbDickson1990,
  carbonicK1Lueker2000,
  carbonicK2Lueker2000,
  fluorideKfDicksonRiley1979,
  waterKwMillero1995,
} from '#rules/seawater/carbonate-constants.ts';
import { densityFromSalinityEos80 } from '#rules/seawater/density.ts';
import { activityFactorTakahashi1982, seawaterOverFreeH, totalOverFreeH } from '#rules/seawater/ph-scale.ts';
import {
  calciumFromSalinity_umol_kg,
  totalBoronLee2010_umol_kg,
  totalBoronUppstrom1974_umol_kg,
  totalFluoride_umol_kg,
  totalSulfate_umol_kg,
} from '#rules/seawater/seawater-composition.ts';
import { referenceTable } from './reference-table.ts';
import { WorstDifference } from './worst-difference.ts';

/** Every constant of the table by its name and pH scale there. */
const ours: Record<string, (S: number, t: number) => number> = {
  'K0 none': solubilityK0Weiss1974,
  'K1 total': carbonicK1Lueker2000,
  'K2 total': carbonicK2Lueker2000,
  'KB total': boricKbDickson1990,
  'KW seawater': waterKwMillero1995,
  'KW total': (S, t) => totalScale(waterKwMillero1995(S, t), S, t),
  // The Guide's form differs from the published one in a constant alone: 148.9652 for 148.9802.
  'KW_guide_form total': (S, t) => waterKwMillero1995(S, t) * Math.exp(148.9652 - 148.9802),
  'KSO4 free': bisulfateKsDickson1990,
  'KF free': fluorideKfDicksonRiley1979,
  'Ksp_aragonite none': aragoniteKspMucci1983,
  'Ksp_calcite none': calciteKspMucci1983,
  'total_boron_uppstrom1974 none': totalBoronUppstrom1974_umol_kg,
  'total_boron_lee2010 none': totalBoronLee2010_umol_kg,
  'total_sulfate none': totalSulfate_umol_kg,
  'total_fluoride none': totalFluoride_umol_kg,
  'total_calcium none': calciumFromSalinity_umol_kg,
  'fH none': (salinity, temperature_C) => activityFactorTakahashi1982({ salinity, temperature_C }),
  'free_H_over_total_H none': (salinity, temperature_C) => 1 / totalOverFreeH({ salinity, temperature_C }),
  'fugacity_factor_fCO2_over_pCO2 none': (_S, t) => fugacityOverPressureWeiss1974(t),
  // The table's density took the listed temperature as IPTS-68; ours takes ITS-90.
  'seawater_density none': (S, t) => densityFromSalinityEos80(S, t / 1.00024) / 1000,
};

function totalScale(k: number, salinity: number, temperature_C: number): number {
  const water = { salinity, temperature_C };
  return (k * totalOverFreeH(water)) / seawaterOverFreeH(water);
}

/** The fluoride constant of Perez & Fraga (PF87) is not used here: 14 rows. */
const rows = referenceTable('carbonate-constants', 154).filter((row) => !row.text('constant').includes('PF87'));

describe('constants of the carbonate system', () => {
  // Table: PyCO2SYS 1.8.3.4, the K also by seacarb 3.3.4 (fixtures/reference/README.md).
  it('agree with the reference table in all of its 140 rows of them', () => {
    const worst = new WorstDifference('constant', 1e-9, true);
    expect(rows).toHaveLength(140);
    const seen = new Set<string>();
    for (const row of rows) {
      const name = `${row.text('constant')} ${row.text('ph_scale')}`;
      const compute = ours[name];
      if (compute === undefined) throw new Error(`no function for ${name}`);
      seen.add(name);
      const [S, t] = [row.number('salinity'), row.number('temperature_C')];
      worst.add(compute(S, t), row.number('value'), `${name} line ${row.line}`);
    }
    expect(seen.size).toBe(20);
    worst.check();
  });

  // Dickson, Sabine & Christian 2007 chapter 5 and Zeebe & Wolf-Gladrow 2001 appendix A, S = 35, 25 °C.
  it('meet the eight published check values to their last digit', () => {
    const published = rows.filter((row) => row.has('published_check_value'));
    expect(published).toHaveLength(8);
    for (const row of published) {
      const value = ours[`${row.text('constant')} ${row.text('ph_scale')}`]!(
        row.number('salinity'),
        row.number('temperature_C'),
      );
      const printed = row.text('published_check_value');
      const digits = (printed.split('.')[1] ?? '').length;
      const logarithm = row.text('published_check_form') === 'ln' ? Math.log(value) : Math.log10(value);
      expect(logarithm.toFixed(digits), row.text('constant')).toBe(printed);
    }
  });
});
