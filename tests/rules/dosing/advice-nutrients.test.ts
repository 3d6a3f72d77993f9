import { describe, expect, test } from 'vitest';
import { adviseDose } from '#rules/dosing/advice.ts';
import type { AdviceInput } from '#rules/dosing/advice-types.ts';
import { dayMs, example, now, stockOf } from './advice-case.ts';

/** An invented tank of 420 L with a band for nitrate and 10 g of potassium nitrate in a litre; nothing is dosed yet. */
function fed(level: number, demandPerDay: number): AdviceInput {
  return {
    ...example,
    analyte: 'nitrate',
    system: { ...example.system, band: { low: 2, high: 10 }, otherBands: {} },
    estimate: {
      ...{ timeMs: now, level, levelSd: 0.4, demandPerDay, demandSd: 0.05, levelDemandCovariance: 0 },
      ...{ suspect: false, learnedTestSd: 0.7, learnedGrowthSd: 0.02, testsUsed: 14 },
    },
    lastTests: [9, 6, 3, 0].map((days) => ({ timeMs: now - days * dayMs - 60_000, value: level, sd: 0.7 })),
    stocks: [
      stockOf({ id: 'nitrate', name: 'Nitrate solution', made: { of: 'potassium_nitrate', gramsPerLitre: 10 } }, 0),
    ],
    planned: [],
    plansPerDay: {},
  };
}

describe('advice on nutrients', () => {
  test('nitrate that food brings is a fault, or is dosed against', () => {
    const advice = adviseDose(fed(14, -0.4));
    expect(advice.holdBacks).toEqual([]);
    expect(advice.kind).toBe('wait');
    expect(advice.reason).toContain('Less food, more export or a water change brings it down, slowly');
    expect(advice.reason).not.toContain('corals');
  });

  test('a tank that starves is not fed, or at once', () => {
    const advice = adviseDose(fed(1, 0.3));
    expect(advice.kind).toBe('dose');
    const dose = [...advice.plan, ...advice.today];
    expect(dose.length).toBeGreaterThan(0);
    // 1 mL of 10 g/L KNO3 (101.1032 g/mol) holds 6.1327 mg of nitrate (62.004 g/mol): 0.014602 mg/L in 420 L.
    for (const { amountPerDay, risePerDay } of dose) expect(risePerDay / amountPerDay!).toBeCloseTo(0.014602, 5);
    // No more a day than its use and 1 mg/L (common practice, no published source).
    expect(dose.reduce((sum, { risePerDay }) => sum + risePerDay, 0)).toBeLessThanOrEqual(1.3);
    expect(advice.cautions.join(' ')).toContain('Oxidiser');
    // 10 g/L bring 39.0983 g of potassium to each 62.004 g of nitrate.
    const potassium = advice.predicted?.sideEffects.find(({ metric }) => metric === 'potassium');
    const rise = dose.reduce((sum, { risePerDay }) => sum + risePerDay, 0);
    expect(potassium?.perDay).toBeCloseTo((rise * 39.0983) / 62.004, 4);
  });

  test('nutrients in their band are given a dogma', () => {
    expect(adviseDose(fed(6, 0)).kind).toBe('nothing');
  });
});
