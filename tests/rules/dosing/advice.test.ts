import { readFileSync } from 'node:fs';
import { parse } from 'csv-parse/sync';
import { describe, expect, it } from 'vitest';
import { adviseDose } from '#rules/dosing/advice.ts';
import { type DoseWater, largestRiseWithinPh, phAfterDose } from '#rules/dosing/advice-ph.ts';
import { strengthOf } from '#rules/dosing/advice-product.ts';
import type { AdviceInput } from '#rules/dosing/advice-types.ts';
import { dayMs, example, now, withEstimate } from './advice-case.ts';

describe('the worked example, step by step by hand', () => {
  const advice = adviseDose(example);

  it('the daily dose meets the demand in millilitres of the keeper’s own solution', () => {
    // fixtures/reference/dosing-stoichiometry.csv: 1.890036 g Na2CO3 lift 100 L by 1 dKH; 420 L take 7.93815 g = 79.38 mL of
    // 100 g/L. The demand of 1.00 differs from the plan of 0.70 by more than its own 1.96 × 0.03: 79 mL, which is 0.9952 dKH.
    expect(advice.kind).toBe('dose');
    expect(advice.maintenance).toMatchObject({ amountPerDay: 79, unit: 'mL', dosesPerDay: 4, hoursApart: 6 });
    expect(advice.maintenance!.risePerDay).toBeCloseTo(79 / 79.38151, 5);
    // 79 / 4 = 19.75, measured as 19.8.
    expect(advice.maintenance!.largestDose).toBe(19.8);
  });

  it('the correction leads to the middle of the band within what a day allows', () => {
    // Middle 8.25, level 7.50: 0.75 dKH. Allowed a day: 0.5 less the doubt of the demand, 1.96 × 0.03 = 0.0588: 0.4412.
    // First day 0.4412 × 79.38 = 35.02, given 35 mL; the rest 0.3088 × 79.38 = 24.51, given 24 mL.
    expect(advice.correction).toMatchObject({ days: 2, amountOnDay: [35, 24], totalAmount: 59 });
    expect(advice.correction!.totalRise).toBeCloseTo(59 / 79.38151, 5);
  });

  it('the path says where the level goes with the advice and without', () => {
    // With: 7.5 + 0.74325 - 7 × (1 - 0.99519) = 8.2096. Without: 7.5 - 7 × 0.3 = 5.4.
    expect(advice.predicted!.withAdvice.at(-1)!.level).toBeCloseTo(8.2096, 3);
    expect(advice.predicted!.withoutAdvice.at(-1)!.level).toBeCloseTo(5.4, 9);
    expect(advice.predicted!.withAdvice).toHaveLength(8);
    expect(advice.predicted!.leavesWithoutAdviceAtMs!).toBeLessThan(now + dayMs / 2);
  });

  it('what a person needs to judge it is written out', () => {
    const working = advice.working.join('\n');
    for (const part of ['7.55', '79 mL', '0.01260', 'pH 8.10 to', '8.25', '1.75']) expect(working).toContain(part);
    expect(advice.cautions.join(' ')).toContain('Caustic');
    expect(advice.sure.word).toBe('well');
    expect(advice.retestAtMs).toBe(now + 2 * dayMs);
    expect(JSON.parse(JSON.stringify(advice))).toEqual(advice);
  });
});

describe('pH right after a dose', () => {
  const rows = (
    parse(readFileSync('fixtures/reference/carbonate-dosing.csv'), { columns: true }) as Record<string, string>[]
  ).filter((row) => row['boron_option'] === 'uppstrom1974' && Number(row['start_ph_total']) >= 7.5);
  const of = {
    bicarbonate: 'sodium_bicarbonate',
    carbonate: 'sodium_carbonate',
    hydroxide: 'sodium_hydroxide',
  } as const;

  it('agrees with the table of doses for every kind of base', () => {
    // fixtures/reference/carbonate-dosing.csv (PyCO2SYS 1.8.3.4, cross-checked there); tolerance pH 1e-4. The table is per kg,
    // advice per litre: the density of EOS-80 between them cancels to better than this.
    expect(rows.length).toBeGreaterThan(20);
    for (const row of rows) {
      const number = (column: string): number => Number(row[column]);
      const salinity = number('salinity');
      const temperature_C = number('temperature_C');
      const density = densityUnesco(salinity, temperature_C);
      const dKH = (umol_kg: number): number => (umol_kg * density) / 1000 / 0.3566525;
      const water: DoseWater = {
        ...{ salinity, temperature_C, phTotal: number('start_ph_total'), assumed: [] },
        alkalinity_dKH: dKH(number('start_total_alkalinity_umol_kg')),
      };
      const addition = row['addition'] as keyof typeof of;
      const strength = strengthOf({ id: 'x', name: 'x', made: { of: of[addition] } }, 'alkalinity', 100);
      const after = phAfterDose(water, strength, dKH(number('added_alkalinity_umol_kg')));
      expect(Math.abs(after - number('end_ph_total'))).toBeLessThan(1e-4);
    }
  });

  it('lye that would lift pH too far is split, and refused when no dose is small enough', () => {
    const lye = { id: 'lye', name: 'Lye', made: { of: 'sodium_hydroxide' as const, gramsPerLitre: 20 } };
    const near: AdviceInput = { ...example, product: lye, system: { ...example.system, highestPhAfterDose: 8.2 } };
    const split = adviseDose(near);
    expect(split.kind).toBe('dose');
    expect(split.maintenance!.dosesPerDay).toBeGreaterThan(1);
    expect(split.predicted!.phAfterLargestDose!).toBeLessThanOrEqual(8.2);
    const at = { ...near, water: { ...near.water, phTotal: { value: 8.25, ageMs: 0 } } };
    const refused = adviseDose(at);
    expect(refused).toMatchObject({ kind: 'hold_back', holdBacks: [{ rule: 'ph_limit' }] });
    expect(refused.maintenance).toBeUndefined();
    const bicarbonate = { id: 'bic', name: 'Baking soda', made: { of: 'sodium_bicarbonate' as const } };
    const mild = adviseDose({ ...at, product: bicarbonate });
    expect(mild.kind).toBe('dose');
    expect(mild.predicted!.phAfterLargestDose!).toBeLessThan(8.25);
  });

  it('a bottle of unknown make-up is judged as the strongest base', () => {
    const made = { of: 'own_strength' as const, raises: 'alkalinity' as const, raises100LByPerMl: 0.05 };
    const lye = { id: 'x', name: 'x', made: { of: 'sodium_hydroxide' as const } };
    const water: DoseWater = { salinity: 35, temperature_C: 25, phTotal: 8.1, alkalinity_dKH: 8, assumed: [] };
    const [unknown, known] = [{ id: 'b', name: 'b', made }, lye].map((product) =>
      strengthOf(product, 'alkalinity', 100),
    );
    expect(phAfterDose(water, unknown!, 0.5)).toBeCloseTo(phAfterDose(water, known!, 0.5), 9);
    expect(adviseDose({ ...example, product: { id: 'b', name: 'b', made } }).cautions.join(' ')).toContain('not known');
  });

  it('the largest allowed dose is at the limit, not past it', () => {
    const water: DoseWater = { salinity: 35, temperature_C: 25, phTotal: 8.1, alkalinity_dKH: 8, assumed: [] };
    const strength = strengthOf({ id: 'x', name: 'x', made: { of: 'sodium_hydroxide' } }, 'alkalinity', 100);
    const rise = largestRiseWithinPh(water, strength, 8.3, 5);
    expect(phAfterDose(water, strength, rise)).toBeLessThanOrEqual(8.3);
    expect(phAfterDose(water, strength, rise * 1.001)).toBeGreaterThan(8.3);
  });
});

describe('too high, well enough, or limited', () => {
  it('above the band nothing is added to take it out, and the plan only falls', () => {
    const advice = adviseDose({ ...withEstimate({ level: 9.6 }), currentPlanPerDay: 1 });
    expect(advice.kind).toBe('wait');
    expect(advice.correction).toBeUndefined();
    // At most 0.5 dKH a day down: 1.00 - 0.50 = 0.50 dKH = 39.69 mL, given 39.
    expect(advice.maintenance!.amountPerDay).toBe(39);
    expect(advice.reason).toContain('Nothing is added');
  });

  it('a plan that meets the demand within its uncertainty is left alone', () => {
    const advice = adviseDose({ ...withEstimate({ level: 8.2 }), currentPlanPerDay: 0.95 });
    expect(advice.kind).toBe('nothing');
    expect(advice.maintenance).toBeUndefined();
  });

  it('a level off the middle by less than its own uncertainty is not corrected', () => {
    const advice = adviseDose({ ...withEstimate({ level: 7.9, levelSd: 0.2 }), currentPlanPerDay: 1 });
    expect(advice.correction).toBeUndefined();
  });

  it('the limit of the bottle is kept, and said', () => {
    const product = { ...example.product!, mostMlPerDayPer100L: 15 };
    const advice = adviseDose({ ...example, product });
    // 15 mL for each 100 L: 63 mL a day in 420 L, and the demand takes all of it.
    expect(advice.maintenance!.amountPerDay).toBe(63);
    expect(advice.correction).toBeUndefined();
    expect(advice.cautions.join(' ')).toContain('limit of 63 mL');
  });

  it('lime for alkalinity tells the calcium it brings, beside what calcification takes', () => {
    const lime = {
      id: 'lime',
      name: 'Lime water',
      made: { of: 'calcium_hydroxide' as const, gramsPerLitre: 1.5 },
      timesPerDay: 24,
    };
    const advice = adviseDose({ ...example, product: lime });
    const calcium = advice.predicted!.sideEffects.find((effect) => effect.metric === 'calcium')!;
    const given = advice.maintenance!.risePerDay + advice.correction!.riseOnDay[0]!;
    // 7.147 mg/L Ca with each dKH (fixtures/reference/dosing-stoichiometry.csv)
    expect(calcium.perDay).toBeCloseTo(7.147 * given, 2);
  });

  it('lime is not used to lift calcium past what alkalinity allows', () => {
    const calcium: AdviceInput = {
      ...withEstimate({ level: 380, levelSd: 3, demandPerDay: 7, demandSd: 0.3 }),
      analyte: 'calcium',
      system: {
        ...example.system,
        band: { low: 400, high: 450, mostPerDay: 20 },
        otherBands: { alkalinity: { low: 7.5, high: 9, mostPerDay: 0.5 } },
      },
      product: { id: 'lime', name: 'Lime', made: { of: 'calcium_hydroxide' }, timesPerDay: 8 },
      currentPlanPerDay: 7,
    };
    const advice = adviseDose(calcium);
    // Alkalinity may rise by 0.5 dKH a day net of 7 / 7.147 that calcification takes: 1.479 dKH, 1.321 g per 100 L each.
    const grams = (advice.correction?.amountPerDay ?? 0) + (7 / 7.147) * 1.321255 * 4.2;
    expect(grams).toBeLessThanOrEqual((0.5 + 7 / 7.147) * 1.321255 * 4.2 + 1e-6);
    expect(advice.cautions.join(' ')).toContain('another product');
  });

  it('without a product the rise alone is told', () => {
    const { product: _, ...bare } = example;
    const advice = adviseDose(bare);
    expect(advice.maintenance).toMatchObject({ risePerDay: 1 });
    expect(advice.maintenance!.amountPerDay).toBeUndefined();
    expect(advice.cautions.join(' ')).toContain('No product');
  });
});

describe('reasons to hold back', () => {
  const rulesOf = (input: AdviceInput): string[] => adviseDose(input).holdBacks.map((holdBack) => holdBack.rule);
  const calciumEstimate = { ...example.estimate!, level: 420, levelSd: 3, demandPerDay: 7, demandSd: 0.5 };

  it('each unsound state of the data is named, and nothing is dosed on it', () => {
    const { estimate: _, ...untested } = example;
    const old = example.lastTests.map((test) => ({ ...test, timeMs: test.timeMs - 9 * dayMs }));
    const product = example.product!;
    const cases: [string, AdviceInput][] = [
      ['no_test', untested],
      ['outlying_test', withEstimate({ suspect: true })],
      ['old_test', { ...example, lastTests: old }],
      ['suspect_salinity', { ...example, water: { salinity: { value: 35, ageMs: 0, isSuspect: true } } }],
      ['suspect_salinity', { ...example, water: { salinity: { value: 22, ageMs: 0 } } }],
      ['demands_out_of_step', { ...example, otherEstimates: { calcium: { ...calciumEstimate, demandPerDay: 1 } } }],
      ['interval_wider_than_band', withEstimate({ levelSd: 0.5 })],
      ['level_rises_unexplained', withEstimate({ demandPerDay: -0.4 })],
      ['past_solubility', { ...example, product: { ...product, made: { of: 'calcium_hydroxide', gramsPerLitre: 5 } } }],
      [
        'product_does_not_raise',
        { ...example, product: { ...product, made: { of: 'calcium_chloride', gramsPerLitre: 50 } } },
      ],
    ];
    for (const [rule, input] of cases) {
      const advice = adviseDose(input);
      expect(rulesOf(input), rule).toEqual([rule]);
      expect(advice.kind).toBe('hold_back');
      expect(advice.maintenance).toBeUndefined();
      expect(advice.correction).toBeUndefined();
      expect(advice.retestAtMs).toBe(now);
      expect(advice.reason).toContain('no extra dose');
    }
  });

  it('demands that agree, and a test that is fresh enough, do not hold back', () => {
    expect(rulesOf({ ...example, otherEstimates: { calcium: calciumEstimate } })).toEqual([]);
    expect(rulesOf(example)).toEqual([]);
  });

  it('several reasons are all told', () => {
    expect(rulesOf(withEstimate({ suspect: true, levelSd: 0.5 }))).toEqual([
      'outlying_test',
      'interval_wider_than_band',
    ]);
  });
});

/** Density of sea water, kg/L. @source Millero & Poisson 1981 (EOS-80), typed here apart from the rule under test */
function densityUnesco(salinity: number, t: number): number {
  const pure =
    999.842594 +
    6.793952e-2 * t -
    9.09529e-3 * t ** 2 +
    1.001685e-4 * t ** 3 -
    1.120083e-6 * t ** 4 +
    6.536332e-9 * t ** 5;
  const a = 8.24493e-1 - 4.0899e-3 * t + 7.6438e-5 * t ** 2 - 8.2467e-7 * t ** 3 + 5.3875e-9 * t ** 4;
  const b = -5.72466e-3 + 1.0227e-4 * t - 1.6546e-6 * t ** 2;
  return (pure + a * salinity + b * salinity ** 1.5 + 4.8314e-4 * salinity ** 2) / 1000;
}
