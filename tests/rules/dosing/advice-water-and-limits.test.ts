import { describe, expect, test } from 'vitest';
import { dailyLimit } from '#rules/dosing/advice-limits.ts';
import { doseLimits, phAfterDose } from '#rules/dosing/advice-ph.ts';
import { strengthOf } from '#rules/dosing/advice-product.ts';
import { sideEffects } from '#rules/dosing/advice-side-effects.ts';
import type { AdviceInput, AdviceProduct } from '#rules/dosing/advice-types.ts';
import { asOnMeter, doseWater } from '#rules/dosing/advice-water.ts';
import { effectOfDose } from '#rules/dosing/effect-of-dose.ts';
import { densityFromSalinityEos80 } from '#rules/seawater/density.ts';
import { convertPh } from '#rules/seawater/ph-scale.ts';
import { dayMs, example } from './advice-case.ts';

describe('the water that a dose is judged in', () => {
  const withFact = (fact: 'salinity' | 'temperature_C', known: AdviceInput['water']['salinity']) => {
    const { [fact]: _, ...others } = example.water;
    return doseWater({ ...example, water: known === undefined ? others : { ...others, [fact]: known } }, 8);
  };

  test.each([
    // The edges are those that the source of each fallback names; common practice, no published source.
    ['salinity', 'salinity 35', 35, 14, 25, 42],
    ['temperature_C', 'temperature 25 °C', 25, 2, 15, 33],
  ] as const)(
    'an old, doubtful or impossible %s decides how large a dose may be',
    (fact, words, fallback, days, low, high) => {
      const middle = (low + high) / 2;
      const used = (known: AdviceInput['water']['salinity']) => {
        const water = withFact(fact, known);
        return [water[fact], water.assumed];
      };
      for (const value of [low, middle, high]) expect(used({ value, ageMs: days * dayMs })).toEqual([value, []]);
      for (const unusable of [
        undefined,
        { value: middle, ageMs: days * dayMs + 1 },
        { value: middle, ageMs: 0, isSuspect: true },
        { value: low - 0.01, ageMs: 0 },
        { value: Number.NaN, ageMs: 0 },
      ])
        expect(used(unusable)).toEqual([fallback, [words]]);
    },
  );

  test('a pH of one scale is taken for one of another, or turned twice', () => {
    // fixtures/reference/ph-scales.csv has the way from one to another; here only that it is gone once, by the probe's own scale.
    const at = { salinity: 35, temperature_C: 25 };
    for (const scale of ['nbs', 'total', 'seawater'] as const) {
      const water = doseWater({ ...example, water: { ...example.water, ph: { value: 8.2, ageMs: 0, scale } } }, 8);
      expect(water.phTotal).toBeCloseTo(convertPh(8.2, scale, 'total', at), 9);
      expect(water.assumed).toEqual([]);
    }
    const limit = { value: 8.4, scale: 'total' as const };
    const water = doseWater({ ...example, system: { ...example.system, highestPhAfterDose: limit } }, 8);
    expect(water.highestPhTotal).toBeCloseTo(8.4, 9);
    expect(asOnMeter(water, 8.3)).toBeCloseTo(8.3, 9);
  });

  test('a pH that nobody measures is taken for one that failed, or a failed one for a usual one', () => {
    const { ph: _, ...water } = example.water;
    const without = doseWater({ ...example, water }, 8);
    const stale = doseWater({ ...example, water: { ...water, ph: { value: 8.0, ageMs: 2 * dayMs, scale: 'nbs' } } }, 8);
    expect(stale.phTotal).toBeGreaterThan(without.phTotal);
    expect([without.isPhPastLimit, stale.isPhPastLimit]).toEqual([false, false]);
    expect(without.assumed.join()).toContain('no probe');
    expect(stale.assumed.join()).toContain('stale or in doubt');
  });

  test('the pH of the morning decides where the evening was higher', () => {
    const ph = { value: 8.0, ageMs: 0, scale: 'total' as const, highestOfDay: 8.3 };
    expect(doseWater({ ...example, water: { ...example.water, ph } }, 8).phTotal).toBeCloseTo(8.3, 9);
  });
});

describe('how much base a day and a dose may bring', () => {
  const water = doseWater(example, 8);
  const lye: AdviceProduct = { id: 'lye', name: 'Lye', made: { of: 'sodium_hydroxide', gramsPerLitre: 20 } };
  const strength = strengthOf(lye, 'alkalinity', 420);

  test('a dose lifts the pH past its limit, or by more than corals stand at once', () => {
    const { largestRise, setBy } = doseLimits(water, strength, 2);
    expect(setBy).toBe('ph');
    const after = phAfterDose(water, strength, largestRise);
    expect(after).toBeLessThanOrEqual(Math.min(water.highestPhTotal, water.phTotal + 0.1) + 1e-6);
    expect(phAfterDose(water, strength, largestRise * 1.01)).toBeGreaterThan(after);
  });

  test('a dose takes the water to where aragonite precipitates', () => {
    // Moras et al. 2022, Biogeosciences 19, 3537: aragonite precipitated above a saturation of 7, and none at 5.
    const high = {
      ...doseWater({ ...example, system: { ...example.system, highestPhAfterDose: { value: 9, scale: 'nbs' } } }, 8.5),
    };
    const limits = doseLimits({ ...high, phTotal: 8.25 }, strength, 2);
    expect(limits.setBy).toBe('saturation');
    const { salinity, temperature_C, alkalinity_dKH } = high;
    // Of a rise in dKH, µmol/kg: 0.35665 meq/L (unit-conversions.csv) by the density of EOS-80.
    const density_kg_L = densityFromSalinityEos80(salinity, temperature_C) / 1000;
    const umol_kg = (dKH: number): number => (1000 * 0.3566525 * dKH) / density_kg_L;
    const { endOmegaAragonite } = effectOfDose({
      ...{ salinity, temperature_C, startPhTotal: 8.25, addition: 'hydroxide' },
      ...{ startTotalAlkalinity_umol_kg: umol_kg(alkalinity_dKH) },
      addedAlkalinity_umol_kg: umol_kg(limits.largestRise * strength.alkalinityPerRise),
    });
    expect(endOmegaAragonite).toBeLessThanOrEqual(7.001);
    expect(doseLimits({ ...high, phTotal: 8.5 }, strength, 2).largestRise).toBe(0);
  });

  test('bicarbonate is refused for a pH that it lowers', () => {
    const bicarbonate = strengthOf(
      { ...lye, made: { of: 'sodium_bicarbonate', gramsPerLitre: 80 } },
      'alkalinity',
      420,
    );
    const high = { ...water, phTotal: water.highestPhTotal + 0.05, alkalinity_dKH: 7 };
    expect(doseLimits(high, bicarbonate, 0.3).largestRise).toBeGreaterThan(0);
    expect(doseLimits(high, strength, 0.3).largestRise).toBe(0);
  });
});

describe('what a dose drags along', () => {
  // One gram of Ca(OH)2 (74.093 g/mol, IUPAC 2021) in 420 L: 2 × 1000 / 74.093 / 420 meq/L of alkalinity, 2.80385 dKH each,
  // and 1000 × 40.078 / 74.093 / 420 mg/L of calcium.
  const lime_dKH = ((2 * 1000) / 74.093 / 420) * 2.80385;
  const limeCalcium_mg_L = (1000 * 40.078) / 74.093 / 420;
  const perDkh = 7.147;
  const lime: AdviceProduct = { id: 'lime', name: 'Lime', timesPerDay: 4, made: { of: 'calcium_hydroxide' } };
  const { volumeL } = example.system;
  const estimate = { ...example.estimate!, demandPerDay: 10 };
  const limitOf = (change: Partial<AdviceInput>, bands: AdviceInput['system']['otherBands'] = {}) => {
    const input: AdviceInput = {
      ...example,
      ...change,
      system: { ...example.system, otherBands: bands },
    };
    return dailyLimit(input, input.estimate ?? estimate, strengthOf(lime, input.analyte, volumeL));
  };
  const calcium = { analyte: 'calcium', estimate } as const;

  test('lime for calcium lifts alkalinity out of its band in a day', () => {
    // Nothing is known of alkalinity: it is used beside calcium, 1 dKH for each 7.147 mg/L, and may rise by 0.5 a day.
    expect(limitOf(calcium).most).toBeCloseTo((0.5 + 10 / perDkh) / lime_dKH, 2);
    expect(limitOf(calcium)).toMatchObject({
      setBy: 'side_effect',
      text: expect.stringContaining('raise alkalinity too'),
    });
    // Its own estimate and its own band count where they are known; water that gains alkalinity uses none.
    const known = (demandPerDay: number) => ({ otherEstimates: { alkalinity: { ...estimate, demandPerDay } } });
    expect(limitOf({ ...calcium, ...known(0.4) }).most).toBeCloseTo((0.5 + 0.4) / lime_dKH, 2);
    expect(limitOf({ ...calcium, ...known(-0.4) }).most).toBeCloseTo(0.5 / lime_dKH, 2);
    const band = { alkalinity: { low: 7, high: 9, mostPerDay: 0.2 } };
    expect(limitOf({ ...calcium, ...known(0) }, band).most).toBeCloseTo(0.2 / lime_dKH, 2);
    const gaining = { analyte: 'calcium', estimate: { ...estimate, demandPerDay: -3 } } as const;
    expect(limitOf(gaining).most).toBeCloseTo(0.5 / lime_dKH, 2);
  });

  test('lime for alkalinity lifts calcium out of its band, or the calcium that corals take is not counted', () => {
    const alkalinity = { analyte: 'alkalinity', estimate: { ...estimate, demandPerDay: 2 } } as const;
    expect(limitOf(alkalinity).most).toBeCloseTo((15 + 2 * perDkh) / limeCalcium_mg_L, 1);
    // For magnesium it is of no use at all, and the first to pass its limit is alkalinity.
    expect(limitOf({ analyte: 'magnesium', estimate }).most).toBeCloseTo(0.5 / lime_dKH, 2);
  });

  test('the keeper’s own limit is passed, or hides a lower one', () => {
    const limited = (mostGramsPerDayPer100L: number) => {
      const product = { ...lime, mostGramsPerDayPer100L };
      const input: AdviceInput = { ...example, ...calcium, system: { ...example.system, otherBands: {} } };
      return dailyLimit(input, estimate, strengthOf(product, 'calcium', volumeL));
    };
    expect(limited(1)).toMatchObject({ most: 4.2, setBy: 'product' });
    expect(limited(100).setBy).toBe('side_effect');
  });

  test('the person is not told what else rises', () => {
    const strength = strengthOf(lime, 'magnesium', volumeL);
    const of = (analyte: AdviceInput['analyte'], grams = 10) =>
      sideEffects({ ...example, analyte }, strength, grams).map(({ metric, perDay, text }) => [
        metric,
        Number(perDay.toFixed(2)),
        text,
      ]);
    const alkalinityRise = Number((10 * lime_dKH).toFixed(2));
    const calciumRise = Number((10 * limeCalcium_mg_L).toFixed(2));
    const alkalinityLine = ['alkalinity', alkalinityRise, `Adds ${alkalinityRise.toFixed(2)} dKH of alkalinity a day.`];
    const calciumLine = ['calcium', calciumRise, `Adds ${(10 * limeCalcium_mg_L).toFixed(1)} mg/L of calcium a day.`];
    expect(of('magnesium')).toEqual([calciumLine, alkalinityLine]);
    expect(of('calcium')).toEqual([alkalinityLine]);
    // The example uses 1 dKH a day, to which 7.147 mg/L of calcium belong; 14.3 to 2 dKH.
    const twice = { ...example, estimate: { ...example.estimate!, demandPerDay: 2 } };
    expect(sideEffects(twice, strength, 10)[0]?.text).toContain('calcification takes about 14.3 mg/L.');
    const taken = `Adds ${(10 * limeCalcium_mg_L).toFixed(1)} mg/L of calcium a day; calcification takes about 7.1 mg/L.`;
    expect(of('alkalinity')).toEqual([['calcium', calciumRise, taken]]);
    const { estimate: _, ...unknown } = example;
    expect(sideEffects(unknown, strength, 10)[0]?.text).toBe(calciumLine[2]);
    expect(of('alkalinity', 0)).toEqual([]);
  });

  // 100 g of MgCl2·6H2O (203.295 g/mol) in 420 L: 100,000 × 24.305 / 203.295 / 420 = 28.5 mg/L of magnesium. 46.83 g of it are
  // MgCl2, which no coral takes: in 420 × 1.0233 kg 0.10896 g/kg, × 35 / 35.16504 = 0.10845, in 30 days 3.25.
  test('the person is not told of the salt that stays, or of a salt that is none', () => {
    const magnesium: AdviceProduct = { ...lime, made: { of: 'magnesium_chloride_hexahydrate' } };
    const of = (analyte: AdviceInput['analyte'], grams: number) =>
      sideEffects({ ...example, analyte }, strengthOf(magnesium, analyte, volumeL), grams).map(({ text }) => text);
    const salt = 'Salt left behind: salinity rises by about 3.25 in 30 days if nothing else changes it.';
    expect(of('alkalinity', 100)).toEqual(['Adds 28.5 mg/L of magnesium a day.', salt]);
    expect(of('calcium', 100)).toEqual(['Adds 28.5 mg/L of magnesium a day.', salt]);
    expect(of('magnesium', 100)).toEqual([salt]);
    expect(of('alkalinity', 0)).toEqual([]);
    // By hand: 0.02 in 30 days come with 0.615 g a day.
    expect([of('magnesium', 0.61).length, of('magnesium', 0.62).length]).toEqual([0, 1]);
    expect(sideEffects(example, strengthOf(magnesium, 'alkalinity', volumeL), 100)[0]?.metric).toBe('magnesium');
    const [effect] = sideEffects(
      { ...example, analyte: 'magnesium' },
      strengthOf(magnesium, 'magnesium', volumeL),
      100,
    );
    expect(effect).toMatchObject({ metric: 'salinity', perDay: expect.closeTo(0.10845, 4) });
    const bottle: AdviceProduct['made'] = { of: 'own_strength', raises: 'alkalinity', raises100LByPerMl: 1 };
    expect(sideEffects(example, strengthOf({ ...lime, made: bottle }, 'alkalinity', volumeL), 100)).toEqual([]);
  });
});
