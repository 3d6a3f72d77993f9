import { describe, expect, it } from 'vitest';
import { adviseDose } from '#rules/dosing/advice.ts';
import { isNewsBeside } from '#rules/dosing/advice-change.ts';
import type { AdviceInput, AdviceProduct } from '#rules/dosing/advice-types.ts';
import { dayMs, example, mlPerDkh, now, stockOf, withEstimate, withPlan, withTests } from './advice-case.ts';

const rulesOf = (input: AdviceInput): string[] => adviseDose(input).holdBacks.map(({ rule }) => rule);

describe('the plan of a calm tank', () => {
  it('is left alone where level and use fit it', () => {
    const advice = adviseDose(example);
    expect(advice).toMatchObject({ kind: 'nothing', plan: [], today: [], dosingNow: 'leave', holdBacks: [] });
    expect(advice.reason).toContain('Change nothing');
    expect(JSON.parse(JSON.stringify(advice))).toEqual(advice);
  });

  it('rises to the use and a little more where the level is below the middle', () => {
    const advice = adviseDose(withEstimate({ level: 8, demandPerDay: 1.2 }));
    expect(advice.kind).toBe('dose');
    const [change] = advice.plan;
    expect(change!.risePerDay).toBeGreaterThan(1.2);
    expect(change!.risePerDay).toBeLessThan(1.2 + 0.25 + 0.02);
    // What is poured and what it does belong together, rounded to what can be measured out.
    expect(change!.amountPerDay! / mlPerDkh).toBeCloseTo(change!.risePerDay, 4);
    expect(Number.isInteger(change!.amountPerDay)).toBe(true);
    expect(advice.today).toEqual([]);
    expect(advice.dosingNow).toBe('leave');
    expect(advice.reason).toContain(`${change!.amountPerDay} mL of Soda ash solution a day instead of 79.38`);
  });

  it('falls as gently where the level is above the middle, inside the band', () => {
    const advice = adviseDose(withEstimate({ level: 8.5, demandPerDay: 0.8 }));
    expect(advice).toMatchObject({ kind: 'dose', today: [], dosingNow: 'lower' });
    expect(advice.plan[0]!.risePerDay).toBeLessThan(0.8);
    expect(advice.plan[0]!.risePerDay).toBeGreaterThanOrEqual(0.8 - 0.25 - 0.02);
  });

  it('is not touched for a millilitre', () => {
    expect(adviseDose(withEstimate({ level: 8.22, demandPerDay: 1.02 })).kind).toBe('nothing');
  });

  it('looks further ahead where tests are rare', () => {
    const weekly = { ...withEstimate({ level: 8 }), testEveryDays: 7, lastTests: example.lastTests.slice(-1) };
    const daily = adviseDose(withEstimate({ level: 8 })).plan[0]!.risePerDay;
    expect(adviseDose(weekly).plan[0]?.risePerDay ?? 1).toBeLessThan(daily);
  });

  it('gets a dose on top today only near the low edge', () => {
    const low = adviseDose(withEstimate({ level: 7.3 }));
    expect(low.today).toHaveLength(1);
    const inAll = low.today[0]!.risePerDay + (low.plan[0]?.risePerDay ?? 1) - 1;
    expect(inAll).toBeGreaterThan(0.2);
    expect(inAll).toBeLessThanOrEqual(0.5);
    expect(low.reason).toContain('on top of the daily dosing');
    expect(adviseDose(withEstimate({ level: 8 })).today).toEqual([]);
  });

  it('gets no dose on top that is hardly worth measuring out', () => {
    for (let level = 6.8; level < 8.2; level += 0.05)
      for (const dose of adviseDose(withEstimate({ level, demandPerDay: 1.1 })).today)
        expect(dose.risePerDay).toBeGreaterThan(0.08);
  });

  it('without a stock is told as a rise', () => {
    const advice = adviseDose({
      ...withEstimate({ level: 8, demandPerDay: 1.2 }),
      stocks: [],
      planned: [],
      otherRisePerDay: 1,
    });
    expect(advice.plan[0]).toMatchObject({ before: { risePerDay: 1 } });
    expect(advice.plan[0]!.amountPerDay).toBeUndefined();
    expect(advice.cautions.join(' ')).toContain('No product');
  });
});

describe('several stocks', () => {
  const lime: AdviceProduct = {
    id: 'lime',
    name: 'Lime water',
    made: { of: 'calcium_hydroxide', gramsPerLitre: 1.5 },
    timesPerDay: 24,
  };
  // 1.321255 g of Ca(OH)2 lift 100 L by 1 dKH (fixtures/reference/dosing-stoichiometry.csv): 3.7 L of this in 420 L.
  const limePerDkh = (1.321255 * 4.2 * 1000) / 1.5;
  const both: AdviceInput = {
    ...example,
    stocks: [stockOf(lime, 0.5 * limePerDkh), stockOf(example.stocks[0]!.product, 0.6 * mlPerDkh)],
    planned: [{ fromMs: now - dayMs, toMs: now, risePerDay: 1.1 }],
    plansPerDay: { alkalinity: 1.1 },
  };

  it('one is changed, the others are named, and the sum is said', () => {
    const advice = adviseDose(withEstimate({ demandPerDay: 1.3 }, both));
    expect(advice.plan).toHaveLength(1);
    expect(advice.plan[0]!.product!.id).toBe('soda');
    // The sum meets the use of 1.3, and is not lime for all of it on top of the soda.
    expect(advice.plan[0]!.risePerDay + 0.5).toBeCloseTo(1.3, 1);
    expect(advice.reason).toContain('Leave Lime water (0.50 dKH) as it is');
  });

  it('a pH past its limit takes from the lime, which lifts it the most, and from nothing while the level is below its band', () => {
    const water = { ...both.water, ph: { value: 8.6, ageMs: 0, scale: 'nbs' as const } };
    const high = adviseDose(withEstimate({ demandPerDay: 1.1 }, { ...both, water }));
    expect(high.plan.map(({ product }) => product!.id)).toEqual(['lime']);
    expect(high.dosingNow).toBe('lower');
    const low = adviseDose(withEstimate({ demandPerDay: 1.1, level: 7.2 }, { ...both, water }));
    expect(low.dosingNow).toBe('leave');
  });

  it('calcium above its band holds back lime, not soda', () => {
    const water = { ...both.water, calcium_mg_L: { value: 470, ageMs: 0 } };
    const onlyLime = { ...both, water, stocks: [both.stocks[0]!], planned: [], plansPerDay: { alkalinity: 0.5 } };
    expect(rulesOf(withEstimate({ demandPerDay: 0.8, level: 8.1 }, onlyLime))).toEqual(['other_analyte_high']);
    expect(adviseDose(withEstimate({ demandPerDay: 1.3 }, { ...both, water })).plan[0]!.product!.id).toBe('soda');
  });
});

describe('too high', () => {
  it('above the band the plan falls and nothing is added', () => {
    const advice = adviseDose(withTests([9.5, 9.55, 9.6], withEstimate({ level: 9.6 })));
    expect(advice).toMatchObject({ kind: 'wait', today: [], dosingNow: 'lower' });
    // Down by 0.65 × 0.5 below the use, not further: a hungry tank must not crash.
    expect(advice.plan[0]!.risePerDay).toBeGreaterThanOrEqual(1 - 0.325 - 0.02);
    expect(advice.plan[0]!.risePerDay).toBeLessThan(1);
    expect(advice.retestAtMs).toBeLessThanOrEqual(now + dayMs);
  });

  it('a level that rises by more than the plan stops the plan, and says when it begins again', () => {
    const advice = adviseDose(
      withTests([8.06, 9.48, 10.61], withEstimate({ level: 10.4, demandPerDay: -0.3, demandSd: 0.2 })),
    );
    expect(advice.dosingNow).toBe('stop');
    expect(advice.plan).toMatchObject([{ amountPerDay: 0, risePerDay: 0 }]);
    expect(advice.resume).toMatchObject({ product: { id: 'soda' } });
    expect(advice.resume!.atMs).toBeGreaterThan(now);
    expect(advice.reason).toMatch(/[Ss]top/);
    expect(advice.reason).toContain('Start again');
    expect(advice.reason).not.toContain('leave the daily dosing as it is');
  });

  it('a hungry tank is not cut off from all it uses for a rise of a few tenths', () => {
    const hungry = withTests(
      [8.6, 9.05, 9.7],
      withEstimate({ level: 9.5, demandPerDay: 5, demandSd: 0.4 }, withPlan(5.4)),
    );
    const advice = adviseDose(hungry);
    expect(advice.dosingNow).toBe('lower');
    expect(advice.plan[0]!.risePerDay).toBeGreaterThan(5.4 - 0.65 - 0.5);
  });

  it('one high test among good ones lowers and asks again, and does not stop', () => {
    const odd = withTests([8.2, 8.25, 9.4], withEstimate({ level: 8.4, suspect: true }));
    const advice = adviseDose(odd);
    expect(advice).toMatchObject({ kind: 'hold_back', dosingNow: 'lower', retestAtMs: now });
    expect(advice.plan[0]!.risePerDay).toBeGreaterThan(0.6);
  });
});

describe('reasons to hold back', () => {
  const calciumEstimate = { ...example.estimate!, level: 420, levelSd: 3, demandPerDay: 7, demandSd: 0.5 };

  it('each unsound state of the data is named, and nothing is dosed on it', () => {
    const { estimate: _, ...untested } = example;
    const old = example.lastTests.map((test) => ({ ...test, timeMs: test.timeMs - 9 * dayMs }));
    const cases: [string, AdviceInput][] = [
      ['no_test', untested],
      ['outlying_test', withEstimate({ suspect: true })],
      ['old_test', { ...example, lastTests: old }],
      ['suspect_salinity', { ...example, water: { salinity: { value: 35, ageMs: 0, isSuspect: true } } }],
      ['suspect_salinity', { ...example, water: { salinity: { value: 22, ageMs: 0 } } }],
      ['demands_out_of_step', { ...example, otherEstimates: { calcium: { ...calciumEstimate, demandPerDay: 1 } } }],
      ['interval_wider_than_band', withEstimate({ levelSd: 0.5 })],
      ['level_rises_unexplained', withEstimate({ demandPerDay: -0.4 })],
      ['one_test', withEstimate({ testsUsed: 1, level: 7.2 })],
      [
        'salinity_first',
        { ...withEstimate({ level: 7.25 }), water: { ...example.water, salinity: { value: 31.5, ageMs: 0 } } },
      ],
    ];
    for (const [rule, input] of cases) {
      const advice = adviseDose(input);
      expect(rulesOf(input), rule).toContain(rule);
      expect(advice.kind).toBe('hold_back');
      expect([advice.plan, advice.today, advice.dosingNow]).toEqual([[], [], 'leave']);
      expect(advice.retestAtMs).toBe(now);
      expect(advice.sure.word).toBe('barely');
    }
  });

  it('what salt brings is told before anything is dosed for it', () => {
    const fresh = {
      ...withEstimate({ level: 7.25 }),
      water: { ...example.water, salinity: { value: 31.5, ageMs: 0 } },
    };
    // All ions rise in proportion: 7.25 × 35 / 31.5 = 8.06.
    expect(adviseDose(fresh).reason).toContain('7.25 to about 8.06 dKH');
  });

  it('demands that agree, and a room without any probe, do not hold back', () => {
    expect(rulesOf({ ...example, otherEstimates: { calcium: calciumEstimate } })).toEqual([]);
    expect(rulesOf({ ...withEstimate({ level: 8, demandPerDay: 1.2 }), water: {} })).toEqual([]);
    expect(adviseDose({ ...withEstimate({ level: 8, demandPerDay: 1.2 }), water: {} }).cautions.join(' ')).toContain(
      'no probe',
    );
  });

  it('several reasons are all told', () => {
    expect(rulesOf(withEstimate({ suspect: true, levelSd: 0.5 }))).toEqual([
      'outlying_test',
      'interval_wider_than_band',
    ]);
  });

  it('a solution too strong, or one that does not raise it, is refused where more is wanted', () => {
    const wanting = withEstimate({ level: 8, demandPerDay: 1.2 });
    const of = (made: AdviceProduct['made']) =>
      rulesOf({ ...wanting, stocks: [stockOf({ id: 'p', name: 'P', made }, 0)], planned: [] });
    expect(of({ of: 'calcium_hydroxide', gramsPerLitre: 5 })).toEqual(['past_solubility']);
    expect(of({ of: 'calcium_chloride', gramsPerLitre: 50 })).toEqual(['product_does_not_raise']);
  });

  it('a pH past its limit by the dosing lowers what lifts it, and does not leave it', () => {
    const high = { ...example, water: { ...example.water, ph: { value: 8.6, ageMs: 0, scale: 'nbs' as const } } };
    const advice = adviseDose(high);
    expect(advice.dosingNow).toBe('lower');
    expect(advice.plan[0]!.risePerDay).toBeLessThan(1);
    expect(advice.reason).toContain('pH is past its limit');
  });
});

describe('what is news', () => {
  const before = adviseDose(withEstimate({ level: 8, demandPerDay: 1.2 }));

  it('a change that is smaller than what is known is none, a larger one is', () => {
    expect(isNewsBeside(before, before)).toBe(false);
    expect(isNewsBeside(before, adviseDose(withEstimate({ level: 7.98, demandPerDay: 1.21 })))).toBe(false);
    expect(isNewsBeside(before, adviseDose(withEstimate({ level: 8, demandPerDay: 1.4 })))).toBe(true);
    expect(isNewsBeside(before, adviseDose(withEstimate({ suspect: true })))).toBe(true);
    expect(isNewsBeside(before, { ...before, plan: [] })).toBe(true);
    expect(isNewsBeside(before, { ...before, dosingNow: 'stop' })).toBe(true);
  });
});
