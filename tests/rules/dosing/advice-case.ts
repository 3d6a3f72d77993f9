import type { AdviceInput, AdviceProduct, AdviceStock } from '#rules/dosing/advice-types.ts';

export const dayMs = 86_400_000;
export const now = Date.UTC(2026, 5, 1, 8);

/** One dKH in the 420 L of the example: 1.890036 g of Na2CO3 for each 100 L (fixtures/reference/dosing-stoichiometry.csv), of 100 g/L. */
export const mlPerDkh = 18.90036 * 4.2;

const soda: AdviceProduct = {
  ...{ id: 'soda', name: 'Soda ash solution', timesPerDay: 4, mostMlPerDayPer100L: 50 },
  made: { of: 'sodium_carbonate', gramsPerLitre: 100 },
};

/** What a product gives now, in mL or g a day. */
export function stockOf(product: AdviceProduct, planPerDay: number, more: Partial<AdviceStock> = {}): AdviceStock {
  return { product, planPerDay, byHandPerDay: 0, ...more };
}

/**
 * The worked example, an invented system: 420 L, band 7.5 to 9.0 dKH, at most 0.5 dKH a day, tested daily, at 8.25 ± 0.06 (sd),
 * using 1.00 ± 0.03 dKH a day, of which the plan gives all by 100 g of soda ash in a litre, four times a day.
 */
export const example: AdviceInput = {
  system: {
    volumeL: 420,
    band: { low: 7.5, high: 9, mostPerDay: 0.5 },
    otherBands: { calcium: { low: 400, high: 450 }, salinity: { low: 34, high: 36 } },
    highestPhAfterDose: { value: 8.5, scale: 'nbs' },
  },
  analyte: 'alkalinity',
  estimate: {
    ...{ timeMs: now, level: 8.25, levelSd: 0.06, demandPerDay: 1, demandSd: 0.03, levelDemandCovariance: 0 },
    ...{ suspect: false, learnedTestSd: 0.1, learnedGrowthSd: 0.02, testsUsed: 14 },
  },
  lastTests: [3, 2, 1, 0].map((days) => ({ timeMs: now - days * dayMs - 60_000, value: 8.25, sd: 0.1 })),
  dosedSinceOldestTest: 3,
  stocks: [stockOf(soda, mlPerDkh)],
  given: [],
  planned: [{ fromMs: now - dayMs, toMs: now, risePerDay: 1 }],
  plansPerDay: { alkalinity: 1 },
  water: {
    salinity: { value: 35, ageMs: dayMs },
    temperature_C: { value: 25, ageMs: 60_000 },
    ph: { value: 8.2, ageMs: 60_000, scale: 'nbs' },
  },
  nowMs: now,
};

/** The example with another estimate. */
export function withEstimate(change: Partial<NonNullable<AdviceInput['estimate']>>, input = example): AdviceInput {
  return { ...input, estimate: { ...input.estimate!, ...change } };
}

/** The example with another daily amount of its stock, dKH a day. */
export function withPlan(risePerDay: number, input = example): AdviceInput {
  const [first] = input.stocks;
  return {
    ...input,
    stocks: [{ ...first!, planPerDay: risePerDay * mlPerDkh }],
    planned: [{ fromMs: now - dayMs, toMs: now, risePerDay }],
    plansPerDay: { ...input.plansPerDay, alkalinity: risePerDay },
  };
}

/** The example with its newest tests replaced, a day apart, the newest just made. */
export function withTests(values: readonly number[], input = example): AdviceInput {
  const lastTests = values.map((value, i) => ({
    timeMs: now - (values.length - 1 - i) * dayMs - 60_000,
    value,
    sd: 0.1,
  }));
  return { ...input, lastTests };
}
