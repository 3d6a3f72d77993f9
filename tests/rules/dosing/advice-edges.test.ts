import { describe, expect, test } from 'vitest';
import { adviseDose } from '#rules/dosing/advice.ts';
import { isNewsBeside } from '#rules/dosing/advice-change.ts';
import type { Advice, AdviceInput, AdviceProduct } from '#rules/dosing/advice-types.ts';
import { example, withEstimate } from './advice-case.ts';

// 1.890036 g Na2CO3 lift 100 L by 1 dKH (fixtures/reference/dosing-stoichiometry.csv): in 420 L 79.38 mL of the example's solution.
const mL_dKH = 79.38151;
const said = (input: AdviceInput): string => adviseDose(input).cautions.join(' ');
const withProduct = (change: Partial<AdviceProduct>, input: AdviceInput = example): AdviceInput => ({
  ...input,
  product: { ...example.product!, ...change },
});
const limitedTo = (mostMlPerDayPer100L: number, input: AdviceInput = example) =>
  withProduct({ mostMlPerDayPer100L }, input);

describe('the rise of a day', () => {
  // By hand: 0.5 less the doubt of 1.96 × 0.03 = 0.0588 is 0.4412; a plan of 0.03 over the demand takes that off as well: 0.4112,
  // which is 32.64 mL, given 32. A plan below the demand adds nothing to what is allowed: 0.4412, 35.02 mL, given 35.
  test('is more than the band allows where the plan already gives more than the corals use', () => {
    const firstDay = (currentPlanPerDay: number) => {
      const advice = adviseDose({ ...example, currentPlanPerDay });
      expect(advice.maintenance).toBeUndefined();
      return advice.correction?.amountOnDay?.[0];
    };
    expect([firstDay(1.03), firstDay(1), firstDay(0.97)]).toEqual([32, 35, 35]);
  });

  // By hand, as in the worked example: 0.4412 today and 0.3088 tomorrow. At 0.2 an hour 0.4412 is three doses of 0.1471.
  test('is none, or all at once, where no product is named', () => {
    const { product: _, ...bare } = example;
    const { correction } = adviseDose(bare);
    expect(correction).toMatchObject({ days: 2, dosesPerDay: 1, hoursApart: 24 });
    expect(correction?.totalRise).toBeCloseTo(0.75, 9);
    expect(correction?.largestRise).toBeCloseTo(0.4412, 4);
    const slow = { ...bare, system: { ...bare.system, band: { ...bare.system.band, mostPerHour: 0.2 } } };
    expect(adviseDose(slow).correction).toMatchObject({ dosesPerDay: 3, hoursApart: 8 });
    expect(adviseDose(slow).correction?.largestRise).toBeCloseTo(0.14707, 4);
  });

  // By hand: 9.6 is 1.35 over the middle, and the corals use 0.2 a day: the plan falls by at most 0.5 a day, so to nothing.
  test('of nothing is given in four doses of nothing', () => {
    const advice = adviseDose({ ...withEstimate({ level: 9.6, demandPerDay: 0.2 }), currentPlanPerDay: 1 });
    expect(advice.maintenance).toMatchObject({ amountPerDay: 0, dosesPerDay: 0, largestDose: 0, hoursApart: 24 });
    expect(advice.reason).toMatch(/Dose nothing and let the corals/);
    expect(advice.cautions.join(' ')).not.toMatch(/hard to measure|different hours/);
  });
});

describe('a dose that may not be given', () => {
  test('is left out without a word when the pH allows no correction and the plan stays', () => {
    const high: AdviceInput = {
      ...example,
      product: { id: 'lye', name: 'Lye', made: { of: 'sodium_hydroxide', gramsPerLitre: 20 } },
      currentPlanPerDay: 1,
      system: { ...example.system, highestPhAfterDose: 8.2 },
      water: { ...example.water, phTotal: { value: 8.25, ageMs: 0 } },
    };
    const advice = adviseDose(high);
    expect(advice).toMatchObject({ kind: 'hold_back', holdBacks: [{ rule: 'ph_limit' }] });
    expect(advice.correction).toBeUndefined();
  });

  // By hand: 20 mL for 100 L are 84 mL; 79 of them meet the demand and 5 are left. 15 mL are 63, which is less than the demand.
  test('by the limit of the bottle is not told, or told where nothing was cut', () => {
    expect(said(example)).not.toMatch(/limit of|another product/);
    const left = adviseDose(limitedTo(20));
    expect(left.maintenance?.amountPerDay).toBe(79);
    expect(left.correction?.amountOnDay?.[0]).toBe(5);
    expect(left.cautions.join(' ')).toContain('limit of 84 mL');
    const right = adviseDose(limitedTo(15, withEstimate({ level: 8.25 })));
    expect(right.maintenance?.risePerDay).toBeCloseTo(63 / mL_dKH, 5);
    expect(right.correction).toBeUndefined();
    expect(right.cautions.join(' ')).toContain('limit of 63 mL');
  });

  // The plan takes all of the 63 mL and the level lies at the bottom of its band: "change nothing" would hide that.
  test('because the bottle’s limit is used up reads as if all were well', () => {
    const full = adviseDose({ ...limitedTo(15, withEstimate({ demandPerDay: 0.8 })), currentPlanPerDay: 0.8 });
    expect(full.kind).toBe('nothing');
    expect(full.reason).toMatch(/7\.50 dKH, 0\.75 dKH below the middle of the band.*limit of 63 mL/);
    expect(full.cautions.join(' ')).toContain('limit of 63 mL');
    expect(full.reason).not.toContain('Change nothing');
  });

  test('is given on a test that the keeper doubts, or in water that no reef lives in', () => {
    const doubted = example.lastTests.map((each, at) => ({ ...each, isSuspect: at === 2 }));
    const advice = adviseDose({ ...example, lastTests: doubted });
    expect(advice.holdBacks.map(({ rule }) => rule)).toEqual(['outlying_test']);
    expect(advice.reason).toContain('The last test (7.55 dKH)');
    // An older test that was doubted was answered by the one after it.
    expect(
      adviseDose({
        ...example,
        lastTests: [{ ...example.lastTests[0]!, isSuspect: true }, ...example.lastTests.slice(1)],
      }).kind,
    ).toBe('dose');
    const thick = { ...example, water: { ...example.water, salinity: { value: 45, ageMs: 0 } } };
    expect(adviseDose(thick).holdBacks.map(({ rule }) => rule)).toEqual(['suspect_salinity']);
    expect(adviseDose(withEstimate({ demandPerDay: -0.4 })).reason).toContain('rises by 0.40 dKH a day');
  });
});

describe('cautions', () => {
  test('stand where nothing is dosed', () => {
    const idle = { ...withEstimate({ level: 8.25 }), currentPlanPerDay: 1 };
    expect(adviseDose({ ...idle, water: { ...idle.water, magnesium_mg_L: { value: 1000, ageMs: 0 } } })).toMatchObject({
      kind: 'nothing',
      cautions: [],
    });
  });

  test('are missing, or said of another dose than the one they are about', () => {
    expect(said(example)).not.toMatch(/No product|hard to measure|dry doses|top-off|what this solution/i);
    expect(said(example)).toContain('different hours');
    expect(said({ ...example, currentPlanPerDay: 1 })).not.toContain('different hours');
    expect(said(withProduct({ timesPerDay: 8 }))).not.toContain('dry doses');
    expect(said(withProduct({ timesPerDay: 8, made: { of: 'sodium_carbonate' } }))).toContain('dry doses');
    const outside = { ...example, water: { ...example.water, salinity: { value: 33, ageMs: 0 } } };
    expect(said(outside)).toContain('Salinity is outside its band (33.0)');
    // 5 dKH in 100 L by a millilitre are 1.19 in 420 L: 1 dKH is 0.85 mL, split by the pH to 0.2 each; 0.4412 are 0.35 mL, 0.1 each.
    const strong: AdviceProduct['made'] = { of: 'own_strength', raises: 'alkalinity', raises100LByPerMl: 5 };
    expect(said(withProduct({ made: strong }))).toContain('doses of 0.1 mL are hard to measure');
    expect(said(withProduct({ made: strong }, withEstimate({ level: 8.25 })))).toContain('doses of 0.2 mL');
    expect(said(withProduct({ made: strong }))).toContain('early morning');
  });

  // Lime brings 7.147 mg/L of calcium with each dKH (fixtures/reference/dosing-stoichiometry.csv): 1.43 dKH bring 10.2 a day, of
  // which the corals take 7.2: 21 in a week.
  test('do not say that calcium will pass its band, or say so where the corals take it', () => {
    const made = { of: 'calcium_hydroxide', gramsPerLitre: 1.5 } as const;
    const lime: AdviceInput = { ...example, product: { id: 'lime', name: 'Lime water', timesPerDay: 24, made } };
    const limeAt = (calcium: number, demandPerDay: number) =>
      said({
        ...lime,
        water: { ...lime.water, calcium_mg_L: { value: calcium, ageMs: 0 } },
        otherEstimates: { calcium: { ...example.estimate!, level: calcium, levelSd: 3, demandPerDay, demandSd: 0.5 } },
      });
    expect(limeAt(400, 7.2)).not.toContain('pass the top');
    expect(limeAt(440, 7.2)).toContain('It would pass the top of its band (450) within 7 days');
  });
});

describe('news', () => {
  const before = adviseDose(example);

  test('is none when daily dosing begins, ends, or is of another analyte', () => {
    const { maintenance: _, ...without } = before;
    expect(isNewsBeside(without, before)).toBe(true);
    expect(isNewsBeside(before, without)).toBe(true);
    expect(isNewsBeside(without, without)).toBe(false);
    expect(isNewsBeside(before, { ...before, analyte: 'calcium' })).toBe(true);
  });

  test('is none when other water is to go in, or other litres of it', () => {
    const water: NonNullable<Advice['water']> = {
      ...{ do: 'exchange_for_fresh', newSalinity: 0, litresOnDay: [5.4], changeOnDay: [-0.5], totalChange: -0.5 },
    };
    const of = (change?: Partial<typeof water>): Advice => {
      const { correction: _, maintenance: __, ...bare } = before;
      return { ...bare, analyte: 'salinity', ...(change === undefined ? {} : { water: { ...water, ...change } }) };
    };
    // Known within 0.118, as the example's level is.
    expect(isNewsBeside(of({}), of({ totalChange: -0.55 }))).toBe(false);
    expect(isNewsBeside(of({}), of({ totalChange: -0.7 }))).toBe(true);
    expect(isNewsBeside(of({}), of({ do: 'top_off_fresh' }))).toBe(true);
    expect([isNewsBeside(of({}), of()), isNewsBeside(of(), of({})), isNewsBeside(of(), of())]).toEqual([
      true,
      true,
      false,
    ]);
  });
});
