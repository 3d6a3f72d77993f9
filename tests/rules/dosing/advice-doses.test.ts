import { describe, expect, test } from 'vitest';
import { adviseDose } from '#rules/dosing/advice.ts';
import { dailyLimit } from '#rules/dosing/advice-limits.ts';
import { doseWater, largestRiseWithinPh, phAfterDose } from '#rules/dosing/advice-ph.ts';
import { measurable, measurableStep, type Strength, strengthOf } from '#rules/dosing/advice-product.ts';
import type { AdviceInput, AdviceProduct } from '#rules/dosing/advice-types.ts';
import { example, withEstimate } from './advice-case.ts';

const withBand = (band: Partial<AdviceInput['system']['band']>, input: AdviceInput = example): AdviceInput => ({
  ...input,
  system: { ...input.system, band: { ...input.system.band, ...band } },
});
const withProduct = (change: Partial<AdviceProduct>, input: AdviceInput = example): AdviceInput => ({
  ...input,
  product: { ...example.product!, ...change },
});

/**
 * Calcium by a bottle that lifts 100 L by 1 mg/L a millilitre: 0.25 mg/L in 400 L. Band 400 to 450, at most 5 a day; level in the
 * middle, 10 mg/L used a day and nothing given: 40 mL a day.
 */
const calcium: AdviceInput = {
  ...example,
  analyte: 'calcium',
  system: { ...example.system, volumeL: 400, band: { low: 400, high: 450, mostPerDay: 5 }, otherBands: {} },
  estimate: { ...example.estimate!, level: 425, levelSd: 2, demandPerDay: 10, demandSd: 0 },
  product: { id: 'ca', name: 'Calcium', made: { of: 'own_strength', raises: 'calcium', raises100LByPerMl: 1 } },
  currentPlanPerDay: 0,
};
const using = (demandPerDay: number, change: Partial<AdviceProduct> = {}, mostPerHour?: number): AdviceInput => {
  const input = { ...calcium, product: { ...calcium.product!, ...change } };
  return withBand(mostPerHour === undefined ? {} : { mostPerHour }, withEstimate({ demandPerDay }, input));
};

describe('the amount of a day', () => {
  // By hand: 1.005 dKH are 79.78 mL (79.38 mL/dKH), measured as 80, which is 0.0028 dKH more; that is taken off the first day of the
  // correction: (0.4412 − 0.0028) × 79.38 = 34.80, given 34 and not 35.
  test('is rounded away from the demand, or lifts the level by more than is allowed once rounded up', () => {
    const { maintenance, correction } = adviseDose(withEstimate({ demandPerDay: 1.005 }));
    expect(maintenance?.amountPerDay).toBe(80);
    expect(correction?.amountOnDay?.[0]).toBe(34);
  });

  // By hand: 15.2 mL for 100 L are 63.84 mL in 420 L; the next whole millilitre is past it.
  test('is rounded up past the limit of the bottle', () => {
    expect(adviseDose(withProduct({ mostMlPerDayPer100L: 15.2 })).maintenance?.amountPerDay).toBe(63);
  });

  // By hand: 5 dKH in 100 L by a millilitre are 1.19 in 420 L: 0.84 mL, in steps of 0.05 mL of 0.06 dKH each, more than a tenth of
  // what a day may rise: 0.80 mL and not 0.85.
  test('of a strong bottle is rounded up by a step that the band would feel', () => {
    const made: AdviceProduct['made'] = { of: 'own_strength', raises: 'alkalinity', raises100LByPerMl: 5 };
    expect(adviseDose(withProduct({ made })).maintenance?.amountPerDay).toBe(0.8);
  });

  // By hand: 40 mL a day are 10 mL for 100 L, 20 mL on top of none are 5.
  test('is told to be cut by a limit that is just enough', () => {
    const limited = (mostMlPerDayPer100L: number, input: AdviceInput) =>
      adviseDose({ ...input, product: { ...calcium.product!, mostMlPerDayPer100L } });
    const daily = limited(10, using(10));
    expect(daily.maintenance?.amountPerDay).toBe(40);
    const onTop = limited(5, withEstimate({ level: 415, demandPerDay: 0 }, calcium));
    expect(onTop.correction?.amountOnDay).toEqual([20, 20]);
    for (const { cautions } of [daily, onTop]) expect(cautions.join(' ')).not.toContain('limit of');
  });

  // 10.005 mg/L below the middle at 5 a day: two days of 20 mL, and 0.02 mL that no syringe shows.
  test('counts a day on which there is nothing to pour', () => {
    const { correction } = adviseDose(withEstimate({ level: 414.995 }, { ...calcium, currentPlanPerDay: 10 }));
    expect(correction).toMatchObject({ days: 2, amountOnDay: [20, 20], totalAmount: 40, totalRise: 10 });
  });

  test.each([
    [-3, 0, 0],
    [0, 0, 0],
    [Number.NaN, 0, 0],
    [1.98, 1.95, 2],
    [2.17, 2.1, 2.2],
    [19.98, 19.9, 20],
    [20.7, 20, 21],
    [499.6, 499, 500],
    [503, 500, 505],
  ])('%d mL are measured to what no syringe or pump shows, or more than asked', (amount, down, nearest) => {
    expect([measurable(amount, 'down'), measurable(amount, 'nearest')]).toEqual([down, nearest]);
  });

  test('is measured in coarser steps than it needs', () => {
    const amounts = [1.99, 2, 19.99, 20, 499.99, 500];
    expect(amounts.map(measurableStep)).toEqual([0.05, 0.1, 0.1, 1, 1, 5]);
  });
});

describe('a single dose', () => {
  // By hand: 79 mL are 0.9952 dKH: at 0.1 an hour ten doses of 7.9 mL; the correction of 35 mL, 0.4409, five of 7 mL.
  test('lifts the level by more than the band allows in an hour', () => {
    const { maintenance, correction } = adviseDose(withBand({ mostPerHour: 0.1 }));
    expect(maintenance).toMatchObject({ amountPerDay: 79, dosesPerDay: 10, largestDose: 7.9, hoursApart: 2 });
    expect(correction).toMatchObject({ dosesPerDay: 5, largestDose: 7, hoursApart: 4.5 });
  });

  test('is one of five where four are just what the hour allows', () => {
    const exact = { dosesPerDay: 4, hoursApart: 6 };
    expect(adviseDose(using(10, {}, 2.5)).maintenance).toMatchObject({ ...exact, largestDose: 10, largestRise: 2.5 });
    const { product: _, ...bare } = calcium;
    expect(adviseDose(withBand({ mostPerHour: 2.5 }, bare)).maintenance).toMatchObject({ ...exact, largestRise: 2.5 });
  });

  // By hand: 40 mL in three are 13.33; 13.4 mL lift by 3.35. Where 3.34 is allowed the third of a day has to do.
  test('is rounded up past what the hour allows', () => {
    expect(adviseDose(using(10, {}, 3.36)).maintenance).toMatchObject({ dosesPerDay: 3, largestDose: 13.4 });
    const tight = adviseDose(using(10, {}, 3.34)).maintenance;
    expect(tight?.largestDose).toBeCloseTo(40 / 3, 9);
    expect(tight?.largestRise).toBeCloseTo(10 / 3, 9);
  });

  // By hand: 80 mL in three are 26.7 and not 27; 2.5 mg/L, 10 mL, in eight are 1.25 and not 1.3.
  test('is measured more coarsely than a pump is set', () => {
    const largest = (demand: number, timesPerDay: number) =>
      adviseDose(withBand({ mostPerDay: 20 }, using(demand, { timesPerDay }))).maintenance?.largestDose;
    expect([largest(20, 3), largest(2.5, 8)]).toEqual([26.7, 1.25]);
  });

  test('of which 24 are needed is refused, or of which 25 are is asked of a hand', () => {
    expect(adviseDose(using(12, {}, 0.5)).maintenance).toMatchObject({ dosesPerDay: 24, hoursApart: 1 });
    const many = adviseDose(using(12.5, {}, 0.5));
    expect(many).toMatchObject({ kind: 'hold_back', holdBacks: [{ rule: 'too_many_doses' }] });
    expect(many.reason).toContain(
      'One dose may raise calcium by 0.5 mg/L at most (its band), so a day would take more',
    );
    expect(many.reason).toContain('more than 24 doses');
    expect(many.reason).not.toMatch(/pH|bicarbonate/);
    // A pump that gives 96 a day gives 25 as well, and says so when even 96 are too few.
    expect(adviseDose(using(12.5, { timesPerDay: 96 }, 0.5)).maintenance).toMatchObject({
      ...{ dosesPerDay: 96, hoursApart: 0.25 },
    });
    expect(adviseDose(using(49, { timesPerDay: 96 }, 0.5)).reason).toContain('more than 96 doses');
  });
});

// A pump may be set to as many as 288 doses a day, one every five minutes; all of a day's doses have to fit into it.
test.each([
  [1, 24, 'one dose ='],
  [5, 4.5, '5 doses of 4 mL, 4.5 hours apart'],
  [24, 1, '24 doses of 0.85 mL, 1 hour apart'],
  [48, 0.5, '48 doses of 0.42 mL, 30 minutes apart'],
  [49, 29 / 60, '29 minutes apart'],
  [96, 0.25, '15 minutes apart'],
  [97, 14 / 60, '14 minutes apart'],
  [288, 5 / 60, '288 doses of 0.07 mL, 5 minutes apart'],
])('%d doses a day do not fit into the day that they are for', (timesPerDay, hoursApart, said) => {
  const { maintenance, working } = adviseDose(using(5, { timesPerDay }));
  expect(maintenance).toMatchObject({ dosesPerDay: timesPerDay, hoursApart: expect.closeTo(hoursApart, 9) });
  expect(maintenance!.dosesPerDay * maintenance!.hoursApart).toBeLessThanOrEqual(24);
  expect(working.join(' ')).toContain(said);
});

// By hand: 20 mL in 288 are 0.069 mL. Rounded up to 0.1 mL a pump would give 28.8 mL, and 21.6 mL of 48 doses of 0.45.
test('a pump that gives all of its doses alike gives the day’s amount and half of it again', () => {
  for (const timesPerDay of [1, 2, 3, 7, 11, 24, 48, 96, 144, 288]) {
    const { largestDose, amountPerDay, dosesPerDay } = adviseDose(using(5, { timesPerDay })).maintenance!;
    expect([amountPerDay, dosesPerDay]).toEqual([20, timesPerDay]);
    expect(largestDose! * dosesPerDay).toBeGreaterThanOrEqual(20 - 1e-9);
    // No more than by what the last dose is smaller.
    expect(largestDose! * (dosesPerDay - 1)).toBeLessThan(20);
  }
});

describe('the pH of a dose', () => {
  const lye = withProduct({ made: { of: 'sodium_hydroxide', gramsPerLitre: 20 } });
  const limited = (highestPhAfterDose: number, value: number, input: AdviceInput = lye): AdviceInput => ({
    ...input,
    system: { ...input.system, highestPhAfterDose },
    water: { ...input.water, phTotal: { value, ageMs: 0 } },
  });

  test('is passed by the daily dose alone, where no correction is wanted', () => {
    const advice = adviseDose(limited(8.2, 8.25, withEstimate({ level: 8.25 }, lye)));
    expect(advice).toMatchObject({ kind: 'hold_back', holdBacks: [{ rule: 'ph_limit' }] });
    expect(advice.maintenance).toBeUndefined();
  });

  // Close below the limit each dose is so small that more than 24 would be needed.
  test('is kept by more doses than anybody gives', () => {
    const close = limited(8.105, 8.1);
    expect(adviseDose(close)).toMatchObject({ kind: 'hold_back', holdBacks: [{ rule: 'ph_limit' }] });
    const few = adviseDose(limited(8.2, 8.1));
    expect(few.kind).toBe('dose');
    expect(few.maintenance!.dosesPerDay).toBeLessThanOrEqual(24);
    const pump = adviseDose({ ...close, product: { ...close.product!, timesPerDay: 288 } });
    expect(pump).toMatchObject({ kind: 'dose', maintenance: { dosesPerDay: 288 } });
  });

  const water = { salinity: 35, temperature_C: 25, phTotal: 8.1, alkalinity_dKH: 8, assumed: [] };
  const strength = (made: AdviceProduct['made'], analyte: AdviceInput['analyte'] = 'alkalinity'): Strength =>
    strengthOf({ id: 'p', name: 'P', made }, analyte, 100);

  test('lets more through than the day allows', () => {
    expect(largestRiseWithinPh(water, strength({ of: 'sodium_carbonate' }), 9, 0.2)).toBeCloseTo(0.2, 9);
  });

  // 7.147 mg/L of calcium from lime come with 1 dKH of hydroxide (fixtures/reference/dosing-stoichiometry.csv).
  test('is judged by another alkalinity than lime brings with its calcium', () => {
    const byLime = phAfterDose(water, strength({ of: 'calcium_hydroxide' }, 'calcium'), 7.14696);
    expect(byLime).toBeCloseTo(phAfterDose(water, strength({ of: 'sodium_hydroxide' }), 1), 6);
    expect(phAfterDose(water, strength({ of: 'calcium_chloride' }, 'calcium'), 20)).toBe(8.1);
  });

  test('is judged in water of an alkalinity that no tank has', () => {
    const judgedIn = (alkalinity: number) => doseWater(example, alkalinity).alkalinity_dKH;
    expect([0.2, 1, 8, 25, 30].map(judgedIn)).toEqual([1, 1, 8, 25, 25]);
  });
});

describe('a product that is not what it is taken for', () => {
  const bottle = (raises: AdviceInput['analyte']): AdviceProduct => ({
    ...{ id: 'b', name: 'Bottle', made: { of: 'own_strength', raises, raises100LByPerMl: 1 } },
    ...{ mostMlPerDayPer100L: 10, mostGramsPerDayPer100L: 1 },
  });

  test('raises what it does not hold, or moves the pH by calcium', () => {
    // 1 mL lifts 100 L by 1, 400 L by 0.25; 10 mL for 100 L are 40 mL.
    expect(strengthOf(bottle('calcium'), 'calcium', 400)).toEqual({
      product: bottle('calcium'),
      ...{ unit: 'mL', risePerUnit: 0.25, alkalinityPerRise: 0, addition: 'none' },
      ...{ mostPerDay: 40, solidGramsPerUnit: 0 },
    });
    expect(strengthOf(bottle('alkalinity'), 'alkalinity', 400)).toMatchObject({
      ...{ alkalinityPerRise: 1, addition: 'unknown' },
    });
    const other = adviseDose({ ...example, product: bottle('calcium') });
    expect(other).toMatchObject({ kind: 'hold_back', holdBacks: [{ rule: 'product_does_not_raise' }] });
    expect(other.reason).toContain('Bottle does not raise alkalinity: name the product that does.');
    const chloride = strengthOf({ id: 'c', name: 'C', made: { of: 'calcium_chloride' } }, 'alkalinity', 400);
    expect(chloride).toMatchObject({ risePerUnit: 0, alkalinityPerRise: 0 });
  });

  // What corals take of one they take of the other only for calcium and alkalinity; magnesium is hardly used at all.
  test('is limited as if corals took magnesium along, or calcium with magnesium', () => {
    const holds = (change: Partial<NonNullable<Strength['allPerUnit']>>): Strength => {
      const nothing = strengthOf({ id: 'l', name: 'L', made: { of: 'potassium_iodide' } }, 'alkalinity', 400);
      return { ...nothing, allPerUnit: { ...nothing.allPerUnit!, ...change } };
    };
    const most = (analyte: AdviceInput['analyte'], strength: Strength) =>
      dailyLimit({ ...calcium, analyte }, { ...calcium.estimate!, demandPerDay: 10 }, strength);
    // Where nobody set a rate: 40 mg/L of magnesium, 15 mg/L of calcium and 0.5 dKH a day, common practice, no published source.
    expect(most('alkalinity', holds({ magnesium_mg_L: 1 })).most).toBe(40);
    expect(most('calcium', holds({ magnesium_mg_L: 1 })).most).toBe(40);
    expect(most('magnesium', holds({ calcium_mg_L: 1 }))).toMatchObject({ most: 15, setBy: 'side_effect' });
    expect(most('magnesium', holds({ alkalinity_dKH: 1 })).most).toBe(0.5);
    expect(most('alkalinity', holds({}))).toEqual({ most: Number.POSITIVE_INFINITY, setBy: 'nothing', text: '' });
  });
});

describe('without a product', () => {
  const { product: _, ...bare } = example;

  test('nothing is dosed in no number of doses, or a level too high is corrected', () => {
    const input = { ...withEstimate({ level: 9.6, demandPerDay: 0.2 }, bare), currentPlanPerDay: 1 };
    const advice = adviseDose(input);
    expect(advice.maintenance).toEqual({ risePerDay: 0, dosesPerDay: 0, largestRise: 0, hoursApart: 24 });
    expect(advice.correction).toBeUndefined();
  });

  test('the path leaves out the plan, or a correction of nothing is told', () => {
    // By hand: 7.5 and 0.75 on top, the demand of 1 met by the plan of 1: 8.25.
    expect(adviseDose(bare).predicted?.withAdvice.at(-1)?.level).toBeCloseTo(8.25, 9);
    const still = adviseDose({ ...withEstimate({ level: 8.25 }, bare), currentPlanPerDay: 1 });
    expect(still.kind).toBe('nothing');
    expect(still.correction).toBeUndefined();
  });
});
