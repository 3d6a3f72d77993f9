import { describe, expect, it } from 'vitest';
import { OutOfRange } from '#rules/quantity/out-of-range.ts';
import { fugacityOverPressureWeiss1974, solubilityK0Weiss1974 } from '#rules/seawater/carbon-dioxide-gas.ts';
import { densityFromSalinityEos80 } from '#rules/seawater/density.ts';
import { convertPh } from '#rules/seawater/ph-scale.ts';
import { factorFromStrength, lotCorrection, resultFromEndPoint } from '#rules/titration/end-point-test.ts';
import {
  acidToPh,
  alkalinityFromAcidToPh,
  apparentAlkalinity_umol_kg,
  type CarbonInCell,
  equivalencePhFree,
} from '#rules/titration/fixed-end-point.ts';
import { titrationChemistry } from '#rules/titration/seawater-titration.ts';
import { referenceTable } from '../seawater/reference-table.ts';

// Table: the simulator of the titrations; no second program ran on it (fixtures/reference/README.md).
describe('a titration to one fixed pH', () => {
  it.each(referenceTable('titration-endpoints', 12))('errs as the reference says in row %#', (row) => {
    const water = { salinity: row.number('salinity'), temperature_C: row.number('temperature_C') };
    const chemistry = titrationChemistry(water.salinity, water.temperature_C);
    const density_g_mL = densityFromSalinityEos80(water.salinity, water.temperature_C) / 1000;
    const k0 = solubilityK0Weiss1974(water.salinity, water.temperature_C);
    const carbon: CarbonInCell =
      row.text('cell') === 'closed'
        ? { kind: 'closed', dic_umol_kg: row.number('sample_dic_umol_kg') }
        : { kind: 'open', dissolvedCo2_umol_kg: 420 * k0 * fugacityOverPressureWeiss1974(water.temperature_C) };
    const titration = {
      chemistry,
      sample_g: row.number('sample_volume_mL') * density_g_mL,
      acid_mol_kg: row.number('acid_concentration_mol_kg'),
      carbon,
    };
    const truth = row.number('true_total_alkalinity_umol_kg');
    const equivalence = equivalencePhFree(titration, truth);
    expect(Math.abs(convertPh(equivalence, 'free', 'total', water) - row.number('equivalence_ph_total'))).toBeLessThan(
      1e-3,
    );
    expect(Math.abs(convertPh(equivalence, 'free', 'nbs', water) - row.number('equivalence_ph_nbs'))).toBeLessThan(
      1e-3,
    );
    for (const phNbs of ['4.2', '4.3', '4.5']) {
      const phFree = convertPh(Number(phNbs), 'nbs', 'free', water);
      const acid_g = acidToPh(titration, truth, phFree);
      const apparent = apparentAlkalinity_umol_kg(titration, acid_g);
      expect(Math.abs(apparent - row.number(`apparent_ta_at_ph_nbs_${phNbs}_umol_kg`)), phNbs).toBeLessThan(0.5);
      expect(
        Math.abs(acid_g / row.number('acid_density_g_mL') - row.number(`acid_to_ph_nbs_${phNbs}_mL`)),
      ).toBeLessThan(1e-4);
      const stated_g = row.number(`acid_to_ph_nbs_${phNbs}_mL`) * row.number('acid_density_g_mL');
      expect(Math.abs(alkalinityFromAcidToPh(titration, stated_g, phFree) - truth)).toBeLessThan(0.5);
    }
  });
});

describe('a test by drops or syringe', () => {
  // By hand: 0.84 mL of 0.02 mol/L acid on 5 mL: 0.84 × 0.02 × 1000 / 5 = 3.36 meq/L; × 2.80385 = 9.42094 dKH.
  it('reads 9.42 dKH from 0.84 mL of 0.02 mol/L acid on 5 mL', () => {
    const factor = factorFromStrength(0.02, 5, 2.80385);
    expect(factor).toBeCloseTo(11.2154, 4);
    const result = resultFromEndPoint({ amounts: [0.84], resolution: 0.02, readingsForOneAmount: 1, factor });
    expect(result.value).toBeCloseTo(9.42094, 4);
    // JCGM 100, F.2.2.1: 0.02 mL / √12 = 0.0057735 mL, × 11.2154 = 0.06475 dKH.
    expect(result.sd).toBeCloseTo(0.06475, 4);
  });

  // By hand: 8 drops of 1 dKH: 1/√12 = 0.288675; a factor known to 2 %: 0.16; together √(0.083333 + 0.0256) = 0.330050.
  it('is not sure of a count of drops by more than a third of a degree', () => {
    const result = resultFromEndPoint({
      amounts: [8],
      resolution: 1,
      readingsForOneAmount: 1,
      factor: 1,
      factorRelativeSd: 0.02,
    });
    expect(result.value).toBe(8);
    expect(result.sd).toBeCloseTo(0.33005, 5);
    expect(result.shares[0]).toEqual({ from: 'resolution', sd: expect.closeTo(0.288675, 6) });
  });

  // By hand: mean 0.84; deviations -0.02, 0, 0.02: standard deviation 0.02; of the mean 0.02/√3 = 0.011547; × 10 = 0.11547.
  // Start and end of the syringe: 0.01 × √2/√12 = 0.0040825; × 10 = 0.040825. Together 0.122474.
  it('weighs three repeats by the deviation of their mean, and a syringe by both of its readings', () => {
    const result = resultFromEndPoint({
      amounts: [0.82, 0.84, 0.86],
      resolution: 0.01,
      readingsForOneAmount: 2,
      factor: 10,
    });
    expect(result.value).toBeCloseTo(8.4, 12);
    expect(result.shares).toContainEqual({ from: 'repeatability', sd: expect.closeTo(0.11547, 6) });
    expect(result.sd).toBeCloseTo(0.122474, 6);
  });

  // By hand: a standard of 8.0 ± 0.1 that the lot reads as 8.4 ± 0.06: factor 0.952381; √(0.0125² + 0.0071429²) = 0.0143969.
  it('corrects a lot that reads a reference standard too high, and carries the doubt of it along', () => {
    const lot = lotCorrection({ value: 8, sd: 0.1 }, { value: 8.4, sd: 0.06 });
    expect(lot.factor).toBeCloseTo(0.952381, 6);
    expect(lot.relativeSd).toBeCloseTo(0.0143969, 6);
    const result = resultFromEndPoint({ amounts: [8.4], resolution: 0, readingsForOneAmount: 1, factor: 1, lot });
    expect(result.value).toBeCloseTo(8, 12);
    expect(result.sd).toBeCloseTo(8 * 0.0143969, 5);
  });

  // By hand: deviations ∓0.02 of two amounts: 0.0282843; of their mean 0.02; × 10 = 0.2.
  it('takes two repeats for one, so that their scatter is forgotten', () => {
    const amounts = [0.82, 0.86];
    const { shares } = resultFromEndPoint({ amounts, resolution: 0.01, readingsForOneAmount: 1, factor: 10 });
    expect(shares[0]).toEqual({ from: 'repeatability', sd: expect.closeTo(0.2, 9) });
  });

  // By hand, of 8: a tenth 0.8, a twentieth 0.4, a step of 1/√12 = 0.288675, stated 0.1, a hundredth 0.08.
  it('names another cause first than the one that weighs most', () => {
    const { shares } = resultFromEndPoint({
      ...{ amounts: [8], resolution: 1, readingsForOneAmount: 1, factor: 1, repeatabilitySd: 0.1 },
      ...{ factorRelativeSd: 0.1, sampleRelativeSd: 0.05, lot: { factor: 1, relativeSd: 0.01 } },
    });
    expect(shares.map(({ from }) => from)).toEqual(['factor', 'sample', 'resolution', 'repeatability', 'lot']);
    expect(shares.map(({ sd }) => sd)).toEqual([0.8, 0.4, 0.288675, 0.1, 0.08].map((sd) => expect.closeTo(sd, 6)));
  });

  it('believes a standard that holds nothing or whose doubt is below nothing', () => {
    const good = { value: 8, sd: 0.1 };
    for (const bad of [
      { ...good, sd: -0.1 },
      { ...good, value: 0 },
      { ...good, value: -8 },
    ]) {
      expect(() => lotCorrection(bad, good)).toThrow(OutOfRange);
      expect(() => lotCorrection(good, bad)).toThrow(OutOfRange);
    }
  });

  it('refuses a test without an amount, and a standard that is off by a factor of three', () => {
    const test = { resolution: 1, readingsForOneAmount: 1, factor: 1 } as const;
    expect(() => resultFromEndPoint({ ...test, amounts: [] })).toThrow(OutOfRange);
    expect(() => resultFromEndPoint({ ...test, amounts: [-1] })).toThrow(OutOfRange);
    expect(() => resultFromEndPoint({ ...test, amounts: [Number.NaN] })).toThrow(OutOfRange);
    expect(() => lotCorrection({ value: 8, sd: 0 }, { value: 24, sd: 0 })).toThrow(OutOfRange);
  });
});
