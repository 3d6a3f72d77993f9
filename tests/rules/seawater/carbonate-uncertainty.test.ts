import { describe, expect, it } from 'vitest';
import { OutOfRange } from '#rules/quantity/out-of-range.ts';
import {
  carbonateFromAlkalinityAndDic,
  carbonateFromAlkalinityAndPh,
  equilibriumOf,
} from '#rules/seawater/carbonate-system.ts';
import { carbonateUncertainty, constantUncertaintyOrr2018 } from '#rules/seawater/carbonate-uncertainty.ts';
import { convertPh } from '#rules/seawater/ph-scale.ts';
import { alkalinityLeft } from '#rules/titration/acid-balance.ts';
import { titrationChemistry } from '#rules/titration/seawater-titration.ts';
import { alkalinityOfPhAndDic_umol_kg } from './alkalinity-of-ph-and-dic.ts';
import { referenceTable } from './reference-table.ts';
import { seededGauss } from './seeded-gauss.ts';

const water = { salinity: 35, temperature_C: 25, totalAlkalinity_umol_kg: 2300, phTotal: 8.05 };

describe('uncertainty of the carbonate system', () => {
  // GUM 5.1.3 note 2: with pH 8.05 ± 0.05 the contribution is half the difference of the table's rows at 8.0 and 8.1.
  it('of a pH that is ± 0.05 is half the step between two rows of the reference table', () => {
    const rows = referenceTable('carbonate-system', 150).filter(
      (row) =>
        row.number('salinity') === 35 &&
        row.number('temperature_C') === 25 &&
        row.number('total_alkalinity_umol_kg') === 2300 &&
        row.text('boron_option') === 'uppstrom1974',
    );
    const low = rows.find((row) => row.number('ph_total') === 8)!;
    const high = rows.find((row) => row.number('ph_total') === 8.1)!;
    const { combined, largestSource } = carbonateUncertainty(
      carbonateFromAlkalinityAndPh,
      water,
      { phTotal: 0.05 },
      'exact',
    );
    const half = (column: string) => Math.abs(high.number(column) - low.number(column)) / 2;
    expect(combined.pco2_uatm).toBeCloseTo(half('pco2_uatm'), 4);
    expect(combined.dic_umol_kg).toBeCloseTo(half('dic_umol_kg'), 4);
    expect(combined.omegaAragonite).toBeCloseTo(half('omega_aragonite'), 6);
    expect(combined.totalAlkalinity_umol_kg).toBeCloseTo(0, 8);
    expect(largestSource.pco2_uatm).toBe('phTotal');
    expect(largestSource.totalAlkalinity_umol_kg).toBe('none');
  });

  // JCGM 101:2008 (GUM Supplement 1): every input and constant drawn at random.
  it('is the scatter of 4000 random draws, constants included', () => {
    const gauss = seededGauss(8);
    const u = { salinity: 0.3, temperature_C: 0.2, totalAlkalinity_umol_kg: 30, phTotal: 0.03, calcium_mg_L: 10 };
    const input = { ...water, calcium_mg_L: 420 };
    const draws = Array.from({ length: 4000 }, () => {
      const drawn = {
        salinity: input.salinity + gauss() * u.salinity,
        temperature_C: input.temperature_C + gauss() * u.temperature_C,
        totalAlkalinity_umol_kg: input.totalAlkalinity_umol_kg + gauss() * u.totalAlkalinity_umol_kg,
        phTotal: input.phTotal + gauss() * u.phTotal,
        calcium_mg_L: input.calcium_mg_L + gauss() * u.calcium_mg_L,
      };
      const equilibrium = equilibriumOf(drawn);
      const orr = constantUncertaintyOrr2018;
      for (const name of ['k0', 'k1', 'k2', 'kb', 'kw', 'kspAragonite', 'kspCalcite'] as const) {
        equilibrium[name] *= 10 ** (gauss() * orr[name]);
      }
      equilibrium.boron *= 1 + gauss() * orr.boron;
      return carbonateFromAlkalinityAndPh(drawn, equilibrium);
    });
    const { combined } = carbonateUncertainty(carbonateFromAlkalinityAndPh, input, u);
    const outputs = [
      'dic_umol_kg',
      'pco2_uatm',
      'co3_umol_kg',
      'hco3_umol_kg',
      'omegaAragonite',
      'omegaCalcite',
    ] as const;
    for (const output of [...outputs, 'omegaAragoniteMeasuredCalcium'] as const) {
      const values = draws.map((draw) => draw[output]!);
      const mean = values.reduce((sum, value) => sum + value, 0) / values.length;
      const deviation = Math.sqrt(values.reduce((sum, value) => sum + (value - mean) ** 2, 0) / (values.length - 1));
      // 4000 draws know a standard deviation to 1.1 %; the rest is curvature, which the GUM leaves out.
      expect(Math.abs(deviation / combined[output]! - 1), output).toBeLessThan(0.06);
    }
  });

  it('names the electrode as what limits pCO2 when only its pH is loose', () => {
    const { largestSource } = carbonateUncertainty(carbonateFromAlkalinityAndPh, water, {
      phTotal: 0.05,
      totalAlkalinity_umol_kg: 10,
    });
    expect(largestSource.pco2_uatm).toBe('phTotal');
    expect(largestSource.dic_umol_kg).toBe('phTotal');
  });

  it('at the edge of the range and for a doubt too small to matter is a number, never NaN', () => {
    const edge = { ...water, salinity: 43, temperature_C: 35, phTotal: 10 };
    const found = carbonateUncertainty(carbonateFromAlkalinityAndPh, edge, {
      salinity: 0.5,
      temperature_C: 0.5,
      phTotal: 1e-300,
    });
    for (const value of Object.values(found.combined)) expect(Number.isFinite(value)).toBe(true);
    expect(found.combined.pco2_uatm).toBeGreaterThan(0);
    const dosed = { salinity: 35, temperature_C: 25, totalAlkalinity_umol_kg: 2300, dic_umol_kg: 1967 };
    expect(
      carbonateUncertainty(carbonateFromAlkalinityAndDic, dosed, { dic_umol_kg: 10 }).combined.phTotal,
    ).toBeGreaterThan(0.01);
  });

  it('is not halved at the edge of the range, where only one side can be tried', () => {
    const doubtAt = (salinity: number) =>
      carbonateUncertainty(carbonateFromAlkalinityAndPh, { ...water, salinity }, { salinity: 0.2 }, 'exact').combined;
    expect(doubtAt(43).pco2_uatm / doubtAt(42.5).pco2_uatm).toBeCloseTo(1, 1);
    expect(doubtAt(19).pco2_uatm / doubtAt(19.5).pco2_uatm).toBeCloseTo(1, 1);
  });

  it('is refused for a negative or boundless doubt', () => {
    for (const phTotal of [-0.01, 6, Number.NaN]) {
      expect(() => carbonateUncertainty(carbonateFromAlkalinityAndPh, water, { phTotal })).toThrow(OutOfRange);
    }
  });
});

describe('the sources of doubt, one by one', () => {
  it('boron is taken to be unsure by a factor of its own size instead of by 2 %', () => {
    const { borate_umol_kg } = carbonateFromAlkalinityAndPh(water);
    // Uppström 1974: 415.7 µmol/kg at 35. Of it a share x is borate; KB is unsure by 0.01 of its pK (Orr et al. 2018).
    const share = borate_umol_kg / 415.7;
    const withKb = (factor: number) => (factor * share) / (factor * share + 1 - share);
    const ofKb = (415.7 * (withKb(10 ** 0.01) - withKb(10 ** -0.01))) / 2;
    const { combined } = carbonateUncertainty(carbonateFromAlkalinityAndPh, water, {});
    expect(combined.borate_umol_kg).toBeCloseTo(Math.hypot(0.02 * borate_umol_kg, ofKb), 4);
  });

  it('doubt of an input that was not given, or of water as salt as EOS-80 goes, brings no answer', () => {
    const none = carbonateUncertainty(carbonateFromAlkalinityAndPh, water, {}, 'exact');
    expect(carbonateUncertainty(carbonateFromAlkalinityAndPh, water, { calcium_mg_L: 5 }, 'exact')).toEqual(none);
    const salty = { ...water, salinity: 42, calcium_mg_L: 420 };
    const { combined } = carbonateUncertainty(carbonateFromAlkalinityAndPh, salty, { salinity: 0.5 }, 'exact');
    expect(combined.omegaAragoniteMeasuredCalcium).toBeGreaterThan(0);
  });
});

describe('the balance of the carbonate system', () => {
  it('is another than that of a titration, which was written apart from it', () => {
    for (const [salinity, temperature_C] of [
      [35, 25],
      [22, 8],
      [41, 33],
    ] as const) {
      const chemistry = titrationChemistry(salinity, temperature_C);
      for (const phTotal of [5, 6, 7.3, 8.1, 9.4, 10]) {
        const made = { salinity, temperature_C, phTotal, dic_umol_kg: 2000 };
        const totalAlkalinity_umol_kg = alkalinityOfPhAndDic_umol_kg(made);
        const freeH = 10 ** -convertPh(phTotal, 'total', 'free', { salinity, temperature_C });
        expect(totalAlkalinity_umol_kg).toBeCloseTo(1e6 * alkalinityLeft(chemistry, freeH, 1, 2000), 6);
      }
    }
  });
});
