import { describe, expect, test } from 'vitest';
import { adviseDose } from '#rules/dosing/advice.ts';
import { dailyLimit } from '#rules/dosing/advice-limits.ts';
import { doseWater } from '#rules/dosing/advice-ph.ts';
import { strengthOf } from '#rules/dosing/advice-product.ts';
import { sideEffects } from '#rules/dosing/advice-side-effects.ts';
import type { AdviceInput, AdviceProduct } from '#rules/dosing/advice-types.ts';
import { dayMs, example } from './advice-case.ts';

describe('the water that a dose is judged in', () => {
  const withFact = (fact: keyof AdviceInput['water'], known: AdviceInput['water']['salinity']) => {
    const { [fact]: _, ...others } = example.water;
    return doseWater({ ...example, water: known === undefined ? others : { ...others, [fact]: known } }, 8);
  };

  test.each([
    // The edges are those that the source of each fallback names; common practice, no published source.
    ['salinity', 'salinity 35', 35, 14, 25, 42],
    ['temperature_C', 'temperature (°C) 25', 25, 2, 15, 33],
    ['phTotal', 'pH (total scale) 8.2', 8.2, 1, 7, 9],
  ] as const)(
    'an old, doubtful or impossible %s decides how large a dose may be',
    (fact, words, fallback, days, low, high) => {
      const middle = (low + high) / 2;
      const used = (known: AdviceInput['water']['salinity']) => {
        const water = withFact(fact, known);
        return [water[fact], water.assumed];
      };
      for (const value of [low, middle, high]) expect(used({ value, ageMs: days * dayMs })).toEqual([value, []]);
      expect(used({ value: middle, ageMs: 0, isSuspect: false })).toEqual([middle, []]);
      for (const unusable of [
        undefined,
        { value: middle, ageMs: days * dayMs + 1 },
        { value: middle, ageMs: 0, isSuspect: true },
        { value: low - 0.01, ageMs: 0 },
        { value: high + 0.01, ageMs: 0 },
        { value: Number.NaN, ageMs: 0 },
      ])
        expect(used(unusable)).toEqual([fallback, [words]]);
    },
  );

  test('what was assumed is not said, or is said of a product that does not move the pH', () => {
    const { phTotal: _, ...water } = example.water;
    const said = (input: AdviceInput) => adviseDose(input).cautions.join(' ');
    expect(said({ ...example, water })).toContain('Not measured lately, so assumed: pH (total scale) 8.2.');
    expect(said(example)).not.toContain('assumed');
    const bicarbonate: AdviceProduct = { ...example.product!, made: { of: 'sodium_bicarbonate', gramsPerLitre: 80 } };
    expect(said({ ...example, water, product: bicarbonate })).not.toContain('assumed');
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
      product: lime,
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
      const input: AdviceInput = { ...example, ...calcium, product, system: { ...example.system, otherBands: {} } };
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
    expect(sideEffects(twice, strength, 10)[0]?.text).toContain('calcification takes about 14.3.');
    const taken = `Adds ${(10 * limeCalcium_mg_L).toFixed(1)} mg/L of calcium a day; calcification takes about 7.1.`;
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

describe('cautions about the water itself', () => {
  const said = (water: Partial<AdviceInput['water']>, input: AdviceInput = example) =>
    adviseDose({ ...input, water: { ...input.water, ...water } }).cautions;
  const ofMagnesium = expect.stringMatching(/^Magnesium is low/);

  test('magnesium too low to hold the rest goes unsaid, or is said where it is being raised', () => {
    expect(said({ magnesium_mg_L: { value: 1149, ageMs: 0 } })).toContainEqual(
      'Magnesium is low (1149 mg/L): alkalinity and calcium are hard to hold until it is raised.',
    );
    expect(said({ magnesium_mg_L: { value: 1150, ageMs: 0 } })).not.toContainEqual(ofMagnesium);
    expect(said({})).not.toContainEqual(ofMagnesium);
  });

  test('salinity that is unknown or outside its band goes unsaid', () => {
    const { salinity: _, ...water } = example.water;
    expect(adviseDose({ ...example, water }).cautions).toContainEqual(
      'Salinity is not known: check it first, every ion follows it.',
    );
    const ofSalinity = expect.stringMatching(/^Salinity is/);
    for (const value of [34, 35, 36]) expect(said({ salinity: { value, ageMs: 0 } })).not.toContainEqual(ofSalinity);
  });
});
