import { describe, expect, test } from 'vitest';
import { adviseDose } from '#rules/dosing/advice.ts';
import { doseWater, phAfterDose } from '#rules/dosing/advice-ph.ts';
import { strengthOf } from '#rules/dosing/advice-product.ts';
import type { AdviceInput, AdviceProduct } from '#rules/dosing/advice-types.ts';
import { dayMs, example, now, withEstimate } from './advice-case.ts';

const { product: _, ...bare } = example;
const { estimate: __, ...untested } = example;
const still = { ...withEstimate({ level: 8.25 }), currentPlanPerDay: 1 };
const made = (change: AdviceProduct['made'], input: AdviceInput = example, timesPerDay = 4): AdviceInput => ({
  ...input,
  product: { id: 'p', name: 'Bottle', timesPerDay, made: change },
});
const working = (input: AdviceInput): string => adviseDose(input).working.join('\n');

/** Advice of every kind: a dose, a correction or a plan alone, without a product, too high, nothing, held back, limited. */
const everyKind: AdviceInput[] = [
  ...[
    example,
    bare,
    still,
    withEstimate({ level: 9.6 }),
    withEstimate({ suspect: true }),
    withEstimate({ level: 8.25 }),
  ],
  ...[
    { ...example, currentPlanPerDay: 1 },
    { ...bare, lastTests: [] },
    untested,
    { ...withEstimate({ level: 9.6 }, bare) },
  ],
  { ...example, product: { ...example.product!, mostMlPerDayPer100L: 15 } },
  made({ of: 'calcium_hydroxide', gramsPerLitre: 1.5 }, { ...example, otherEstimates: {} }, 24),
  // Lime whose calcium stays in its band.
  made(
    { of: 'calcium_hydroxide', gramsPerLitre: 1.5 },
    {
      ...example,
      water: { ...example.water, calcium_mg_L: { value: 400, ageMs: 0 } },
      otherEstimates: { calcium: { ...example.estimate!, level: 400, levelSd: 3, demandPerDay: 7 } },
    },
    24,
  ),
];

describe('advice of any kind', () => {
  test('is stored as another than was told, or says a thing that is no sentence', () => {
    for (const input of everyKind) {
      const advice = adviseDose(input);
      expect(JSON.parse(JSON.stringify(advice))).toStrictEqual(advice);
      for (const line of [advice.reason, advice.sure.text, ...advice.cautions, ...advice.working])
        expect(line).toMatch(/^\S.*[.]$/);
    }
  });

  test('is a dose where only one of the two is given, or names another product', () => {
    const planAlone = adviseDose(withEstimate({ level: 8.25 }));
    expect([planAlone.kind, planAlone.correction]).toEqual(['dose', undefined]);
    const onTopAlone = adviseDose({ ...example, currentPlanPerDay: 1 });
    expect([onTopAlone.kind, onTopAlone.maintenance]).toEqual(['dose', undefined]);
    expect(onTopAlone.cautions.join(' ')).toContain('Caustic');
    for (const { product } of [planAlone, onTopAlone])
      expect(product).toEqual({ id: 'soda', name: 'Soda ash solution' });
    expect(adviseDose(bare).product).toBeUndefined();
  });
});

describe('the reason', () => {
  test('gives other amounts than the plan, or amounts of no product', () => {
    expect(adviseDose(example).reason).toBe(
      'The corals use 1.00 dKH a day and the plan gives 0.70 dKH: dose 1.00 dKH (79 mL) a day. ' +
        'Alkalinity is 7.50 dKH, 0.75 dKH below the middle of the band: raise it by 0.74 dKH over 2 days, today 35 mL.',
    );
    expect(adviseDose(bare).reason).toMatch(/dose 1\.00 dKH a day\. .*raise it by 0\.75 dKH over 2 days\.$/);
    expect(adviseDose(withEstimate({ level: 8 })).reason).toMatch(/over 1 day, today/);
    expect(adviseDose(still).reason).toBe(
      'Alkalinity is 8.25 dKH and the plan meets the demand as far as the tests can tell. Change nothing.',
    );
  });

  // By hand: 9.6 is 0.6 over the band: 1 dKH a day takes it down in a week, 0.05 takes 0.35 of it.
  test('sends a keeper to change water where the corals bring the level down, or does not where they hardly use any', () => {
    const high = (demandPerDay: number, plan: number) =>
      adviseDose({ ...withEstimate({ level: 9.6, demandPerDay, demandSd: 0.005 }), currentPlanPerDay: plan }).reason;
    expect(high(1, 1)).toBe(
      'Alkalinity is 9.60 dKH, above the band (9.00 dKH). Dose only 0.49 dKH a day and let the corals bring it down. Nothing is added to take it out.',
    );
    expect(high(0.05, 0)).toBe(
      'Alkalinity is 9.60 dKH, above the band (9.00 dKH). Wait and let the corals bring it down; the demand is small, so a water change ' +
        'with lower water is quicker. Nothing is added to take it out.',
    );
  });

  test('to hold back leaves open whether the daily dose goes on, where the level goes, or on what it rests', () => {
    const held = adviseDose(withEstimate({ suspect: true }));
    expect(held.reason).toMatch(/Retest first: .* Until then leave the daily dosing as it is; no extra dose\.$/);
    expect(adviseDose({ ...withEstimate({ suspect: true }), currentPlanPerDay: 0 }).reason).toMatch(
      /Until then no dose\.$/,
    );
    expect(held).toMatchObject({ cautions: [], sure: { word: 'barely' }, retestAtMs: now });
    expect(held.predicted?.withAdvice.at(-1)?.level).toBeCloseTo(5.4, 9);
    expect(held.predicted?.sideEffects).toEqual([]);
    expect(held.working.join(' ')).toMatch(/Test 7\.55 dKH.*does not fit what was known/);
    expect(adviseDose(untested).working).toEqual(adviseDose(untested).holdBacks.map(({ text }) => text));
    expect(adviseDose(untested).predicted).toBeUndefined();
    // What is to be tested comes before what is wrong with the product.
    const wrong = adviseDose(made({ of: 'calcium_chloride' }, untested));
    expect(wrong.holdBacks.map(({ rule }) => rule)).toEqual(['no_test']);
  });

  test('of the pH, or of what does not dissolve, does not say what to do', () => {
    const lye = { ...made({ of: 'sodium_hydroxide', gramsPerLitre: 20 }), currentPlanPerDay: 0 };
    const past: AdviceInput = {
      ...lye,
      system: { ...example.system, highestPhAfterDose: 8.2 },
      water: { ...example.water, phTotal: { value: 8.25, ageMs: 0 } },
    };
    expect(adviseDose(past).reason).toBe(
      'pH is 8.25 and Bottle would lift it past 8.20 however it is split. Use bicarbonate, or wait for a lower pH. Until then no dose.',
    );
    // Bicarbonate holds no calcium.
    const calcium: AdviceInput = {
      ...made({ of: 'calcium_hydroxide' }, past),
      ...{ analyte: 'calcium', currentPlanPerDay: 7 },
      estimate: { ...example.estimate!, level: 405, levelSd: 3, demandPerDay: 7, demandSd: 0.5 },
      lastTests: [{ timeMs: now, value: 405 }],
      system: { ...past.system, band: { low: 400, high: 450 } },
    };
    expect(adviseDose(calcium).reason).toContain('Use a product that leaves the pH alone, or wait');
    expect(adviseDose(made({ of: 'calcium_hydroxide', gramsPerLitre: 5 })).reason).toMatch(
      /found 5 g\/L, .* up to 1\.6 g\/L.*Dilute it, state the true strength/,
    );
  });
});

describe('the working', () => {
  // By hand: the newest test is (0.06 / 0.1)² = 36 % of the level, those before 36 % of what is left: 23 % and 15 %.
  test('counts a test for more or less than it is worth, or one that is not used', () => {
    const tests = (input: AdviceInput) =>
      working(input)
        .split('\n')
        .filter((line) => line.startsWith('Test '));
    expect(tests(example)).toEqual([
      'Test 7.90 dKH, 3.0 days ago: about 15 % of the level.',
      'Test 7.70 dKH, 2.0 days ago: about 23 % of the level.',
      'Test 7.55 dKH, 0.5 days ago: about 36 % of the level.',
    ]);
    const [first, second, third] = example.lastTests;
    // Without an uncertainty of its own a test has what was learned: (0.06 / 0.12)² is a quarter.
    const { sd: ___, ...plain } = third!;
    expect(tests(withEstimate({ learnedTestSd: 0.12 }, { ...example, lastTests: [plain] }))).toEqual([
      'Test 7.55 dKH, 0.5 days ago: about 25 % of the level.',
    ]);
    // A level that is known worse than its newest test rests on that alone.
    expect(tests(withEstimate({ levelSd: 0.2 })).map((line) => line.split('about ')[1])).toEqual([
      ...['0 % of the level.', '0 % of the level.', '100 % of the level.'],
    ]);
    const doubted = [first!, { ...second!, isSuspect: true }, ...Array(4).fill(third!)];
    const lines = tests({ ...example, lastTests: doubted });
    expect(lines).toHaveLength(5);
    expect(lines.slice(0, 4).every((line) => line.startsWith('Test 7.55 dKH'))).toBe(true);
    expect(lines[4]).toBe('Test 7.70 dKH: held as suspect, not used.');
    const none = { ...example, lastTests: [{ ...first!, isSuspect: true }] };
    expect(tests(none)).toEqual([]);
  });

  test('leads elsewhere than to the dose', () => {
    const lines = working(example);
    for (const part of [
      'Doses since the oldest of the tests given: 1.75 dKH in all.',
      'Level = tests weighted by their uncertainty, carried on by doses given minus demand × days.',
      // By hand: 1.96 × 0.06 = 0.12, 1.96 × 0.03 = 0.06.
      'Level now: 7.50 ± 0.12 dKH. Demand: 1.00 ± 0.06 dKH a day (95 % intervals, 14 tests).',
      "Plan of now: 0.70 dKH a day. Demand minus plan: 0.30; a change counts when it is larger than the demand's own ± 0.06.",
      'Band 7.50 to 9.00, middle 8.25. Middle minus level: 0.75 dKH. Most net rise a day: 0.50 dKH.',
      '1 mL of Soda ash solution in 420 L raises alkalinity by 0.01260 dKH.',
      'Every day: 1.00 dKH, 79 mL in 4 doses of 19.8 mL, 6 hours apart = 1.00 / 0.01260, rounded.',
      // By hand: 35 and 24 mL are 0.44 and 0.30 dKH; 35 mL in four are 8.75, measured as 8.8.
      'On top: 0.44 + 0.30 = 0.74 dKH, 59 mL over 2 days, each day in 4 doses of 8.8 mL, 6 hours apart.',
      'In 7 days: 8.21 with this, 5.40 without.',
    ])
      expect(lines).toContain(part);
    expect(lines).toMatch(/Largest single dose: pH 8\.10 to 8\.15 \(total scale, before gas exchange\); limit 8\.40\./);
  });

  test('speaks of a product that is not named, of a pH that does not move, or of doses not logged', () => {
    const { dosedSinceOldestTest: ___, ...unlogged } = bare;
    const lines = working(unlogged);
    expect(lines).not.toMatch(/raises|mL|undefined|Doses since|Largest single dose/);
    expect(lines).toContain('Every day: 1.00 dKH in 2 doses, 12 hours apart.');
    // By hand: 0.4412 and the rest of 0.75.
    expect(lines).toContain('On top: 0.44 + 0.31 = 0.75 dKH over 2 days, each day in one dose.');
    expect(working(still)).not.toMatch(/Every day|On top|Largest single dose/);
    expect(
      working(made({ of: 'sodium_bicarbonate', gramsPerLitre: 80 }, withEstimate({ demandPerDay: 0.4 }), 1)),
    ).toMatch(/Every day: 0\.40 dKH, 63 mL in one dose = /);
  });
});

describe('what is predicted', () => {
  // By hand: 7.5 and the 35 mL of today, 0.4409, less 1 − 0.9952; tomorrow 24 mL, 0.3023.
  test('puts the correction of all days on the first, or the edge of the band elsewhere', () => {
    const { predicted } = adviseDose(example);
    expect(predicted?.withAdvice[1]?.level).toBeCloseTo(7.936, 3);
    // 63 mL are 0.7936 a day: 8.0 falls by 0.2064 a day, without advice by 0.3.
    const limited = adviseDose({
      ...withEstimate({ level: 8 }),
      product: { ...example.product!, mostMlPerDayPer100L: 15 },
    }).predicted;
    expect((limited!.leavesWithAdviceAtMs! - now) / dayMs).toBeCloseTo(0.5 / 0.2064, 1);
    expect((limited!.leavesWithoutAdviceAtMs! - now) / dayMs).toBeCloseTo(0.5 / 0.3, 1);
    expect(adviseDose(still).predicted).not.toHaveProperty('leavesWithAdviceAtMs');
    expect(predicted!.chanceToLeaveWithout).toBeGreaterThan(0.99);
  });

  test('is the pH of a smaller dose than the largest, or of none', () => {
    const water = doseWater(example, 7.5);
    const strength = strengthOf(example.product!, 'alkalinity', 420);
    const lifted = (mL: number) => phAfterDose(water, strength, mL * strength.risePerUnit);
    const told = (input: AdviceInput) => adviseDose(input).predicted?.phAfterLargestDose;
    expect(told(example)).toBeCloseTo(lifted(19.8), 9);
    expect(told({ ...example, currentPlanPerDay: 1 })).toBeCloseTo(lifted(8.8), 9);
    expect(told(withEstimate({ level: 8.25 }))).toBeCloseTo(
      phAfterDose(doseWater(example, 8.25), strength, 19.8 * strength.risePerUnit),
      9,
    );
    for (const unmoved of [still, bare]) expect(adviseDose(unmoved).predicted).not.toHaveProperty('phBefore');
  });

  test('is the pH of water with another alkalinity than the tank’s', () => {
    // The alkalinity that is tested counts, whatever else is known of it.
    const known = { ...example, water: { ...example.water, alkalinity_dKH: { value: 12, ageMs: 0 } } };
    expect(adviseDose(known).predicted).toEqual(adviseDose(example).predicted);
    const lime = (alkalinity?: number): AdviceInput => ({
      ...made({ of: 'calcium_hydroxide' }, example, 8),
      analyte: 'calcium',
      estimate: { ...example.estimate!, level: 420, levelSd: 3, demandPerDay: 7, demandSd: 0.5 },
      lastTests: [{ timeMs: now, value: 420 }],
      currentPlanPerDay: 4,
      system: { ...example.system, band: { low: 400, high: 450 } },
      water: {
        ...example.water,
        ...(alkalinity === undefined ? {} : { alkalinity_dKH: { value: alkalinity, ageMs: 0 } }),
      },
    });
    for (const [given, used] of [
      [6, 6],
      [undefined, 8],
    ] as const) {
      const { predicted, maintenance } = adviseDose(lime(given));
      const strength = strengthOf(lime().product!, 'calcium', 420);
      const expected = phAfterDose(doseWater(example, used), strength, maintenance!.largestRise);
      expect(predicted?.phAfterLargestDose).toBeCloseTo(expected, 9);
    }
    const chloride = { ...lime(), product: { id: 'c', name: 'C', made: { of: 'calcium_chloride' } } } as const;
    expect(adviseDose(chloride).predicted).not.toHaveProperty('phAfterLargestDose');
  });
});

describe('how sure it is', () => {
  // By hand, of half a band of 0.75 and a demand of 1: well below 0.35 × 0.75 / 1.96 = 0.134 and 0.25 / 1.96 = 0.128, fairly below
  // 0.268 and 0.408.
  test.each([
    [0.13, 0.03, 5, 'well'],
    [0.06, 0.12, 5, 'well'],
    [0.06, 0.03, 4, 'fairly'],
    [0.14, 0.03, 14, 'fairly'],
    [0.06, 0.13, 14, 'fairly'],
    [0.26, 0.4, 14, 'fairly'],
    [0.28, 0.03, 14, 'barely'],
    [0.06, 0.42, 14, 'barely'],
  ])(
    'is overstated or understated at ± %d of the level, ± %d of the demand and %d tests',
    (levelSd, demandSd, testsUsed, word) => {
      expect(adviseDose(withEstimate({ levelSd, demandSd, testsUsed })).sure.word).toBe(word);
    },
  );

  test('forgets how wide the band or how large the demand is, or tells other figures', () => {
    const wide = { ...example.system, band: { low: 7, high: 10, mostPerDay: 0.5 } };
    expect(adviseDose({ ...withEstimate({ levelSd: 0.26 }), system: wide }).sure.word).toBe('well');
    expect(adviseDose(withEstimate({ demandPerDay: 2, demandSd: 0.25 })).sure.word).toBe('well');
    expect(adviseDose(example).sure).toMatchObject({
      text: 'Level within ± 0.12, demand within ± 0.06 a day, from 14 tests.',
      levelWithin: expect.closeTo(0.1176, 6),
      demandWithin: expect.closeTo(0.0588, 6),
    });
  });
});

describe('the next test', () => {
  const sure = { level: 8.25, levelSd: 0.02, demandSd: 0.005 };
  const due = (input: AdviceInput) => (adviseDose(input).retestAtMs - now) / dayMs;
  const idle = (change: Partial<AdviceInput> = {}, estimate = sure): AdviceInput => ({
    ...{ ...withEstimate(estimate), currentPlanPerDay: 1 },
    ...change,
  });

  test('is due at another time than a change of dosing shows, two days on for alkalinity', () => {
    for (const acting of [
      withEstimate({ level: 8.25 }),
      { ...example, currentPlanPerDay: 1 },
      idle({}, { ...sure, level: 9.6 }),
    ])
      expect(due(acting)).toBe(2);
    expect(due({ ...withEstimate({ level: 9.6 }), currentPlanPerDay: 0.3 })).toBe(2);
  });

  // The last test is half a day old; unless the keeper says otherwise alkalinity is tested every four days.
  test('is due at another time than the keeper’s own interval after the last one, or in the past', () => {
    expect(due(idle())).toBe(3.5);
    expect(due(idle({ testEveryDays: 3 }))).toBe(2.5);
    const old = example.lastTests.map((each) => ({ ...each, timeMs: each.timeMs - 4 * dayMs }));
    expect(due(idle({ lastTests: old }))).toBe(0);
  });

  test('comes after the level may have left its band, on either side', () => {
    for (const [level, plan] of [
      [8.1, 0.95],
      [8.7, 1.05],
    ] as const) {
      const input = { ...withEstimate({ level }), currentPlanPerDay: plan, testEveryDays: 14 };
      const advice = adviseDose(input);
      expect(advice.kind).toBe('nothing');
      const days = (advice.retestAtMs - now) / dayMs;
      expect(days).toBeGreaterThanOrEqual(2);
      expect(days).toBeLessThanOrEqual(7);
      const at = advice.predicted!.withAdvice[days]!;
      const before = advice.predicted!.withAdvice[days - 1]!;
      expect([at.low95 < 7.5 || at.high95 > 9, before.low95 < 7.5 || before.high95 > 9]).toEqual([true, false]);
      // With its own interval shorter than that the interval counts.
      expect(due({ ...input, testEveryDays: 2 })).toBe(1.5);
    }
  });
});

describe('cautions', () => {
  const said = (input: AdviceInput): string => adviseDose(input).cautions.join(' ');
  const dry = (timesPerDay: number, input: AdviceInput = example) =>
    made({ of: 'sodium_carbonate' }, input, timesPerDay);

  test('of dry doses by hand are left out where only one of the two is given, or said of four', () => {
    for (const input of [withEstimate({ level: 8.25 }), { ...example, currentPlanPerDay: 1 }])
      expect(said(dry(5, input))).toContain('So many dry doses');
    expect(said(dry(4))).not.toContain('So many dry doses');
    // By hand: at 0.2 dKH an hour 1.0 takes five doses and 0.44 takes three.
    const slow = { ...example, system: { ...example.system, band: { ...example.system.band, mostPerHour: 0.2 } } };
    expect(said(dry(1, slow))).toContain('So many dry doses');
  });

  test('of the pH are left out for lye, or said of bicarbonate', () => {
    expect(said(made({ of: 'sodium_hydroxide', gramsPerLitre: 20 }))).toContain('early morning');
    expect(said(made({ of: 'sodium_bicarbonate', gramsPerLitre: 80 }))).not.toContain('early morning');
    const blind = { ...example, water: {} };
    expect(said(blind)).toContain('so assumed: salinity 35, temperature (°C) 25, pH (total scale) 8.2.');
  });

  test('of salinity above its band, of magnesium where it is being raised, or of a bottle’s label', () => {
    expect(said({ ...example, water: { ...example.water, salinity: { value: 37, ageMs: 0 } } })).toContain(
      'Salinity is outside its band (37.0)',
    );
    const magnesium: AdviceInput = {
      ...made({ of: 'magnesium_chloride_hexahydrate' }),
      analyte: 'magnesium',
      estimate: { ...example.estimate!, level: 1100, levelSd: 10, demandPerDay: 3, demandSd: 1 },
      lastTests: [{ timeMs: now, value: 1100 }],
      system: { ...example.system, band: { low: 1250, high: 1450 } },
      water: { ...example.water, magnesium_mg_L: { value: 1100, ageMs: 0 } },
    };
    expect(adviseDose(magnesium).kind).toBe('dose');
    expect(said(magnesium)).not.toContain('Magnesium is low');
    for (const input of [bare, made({ of: 'own_strength', raises: 'alkalinity', raises100LByPerMl: 0.05 })])
      expect(said(input)).toContain('Read the maker’s label; it stands above this advice.');
  });

  // By hand: 1 dKH in 420 L are 5.55 g of lime, 3.70 L of 1.5 g/L; with 1.63 L on top 5.3 L of 420 L, where 0.7 % are 2.94 L.
  test('of a dose that is more than evaporates', () => {
    const lime = (change: Partial<NonNullable<AdviceInput['estimate']>> = {}, plan = 0.7) =>
      said({
        ...made({ of: 'calcium_hydroxide', gramsPerLitre: 1.5 }, withEstimate(change), 24),
        currentPlanPerDay: plan,
      });
    expect(lime()).toContain('5.3 L a day may be more than evaporates: count it as top-off');
    expect(lime({ level: 8.25, demandPerDay: 0.5 }, 0.3)).not.toContain('evaporates');
  });

  test('of calcium that comes along fail where nothing is known of its use or its band', () => {
    const lime = made({ of: 'calcium_hydroxide', gramsPerLitre: 1.5 }, example, 24);
    const water = { ...example.water, calcium_mg_L: { value: 445, ageMs: 0 } };
    expect(said({ ...lime, water, otherEstimates: {} })).toContain('pass the top of its band (450)');
    expect(said({ ...lime, water, system: { ...lime.system, otherBands: {} } })).not.toContain('pass the top');
  });
});
