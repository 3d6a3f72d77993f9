import type { AdviceInput } from '#rules/dosing/advice-types.ts';

export const dayMs = 86_400_000;
export const now = Date.UTC(2026, 5, 1, 8);

/**
 * The worked example, an invented system: 420 L, band 7.5 to 9.0 dKH, at most 0.5 dKH a day, tested at 7.50 ± 0.06 (sd),
 * using 1.00 ± 0.03 dKH a day where the plan gives 0.70, dosed with 100 g of soda ash in a litre, four times a day.
 */
export const example: AdviceInput = {
  system: {
    volumeL: 420,
    band: { low: 7.5, high: 9, mostPerDay: 0.5 },
    otherBands: { calcium: { low: 400, high: 450 }, salinity: { low: 34, high: 36 } },
    highestPhAfterDose: 8.4,
  },
  analyte: 'alkalinity',
  estimate: {
    ...{ timeMs: now, level: 7.5, levelSd: 0.06, demandPerDay: 1, demandSd: 0.03, levelDemandCovariance: 0 },
    ...{ suspect: false, learnedTestSd: 0.1, learnedGrowthSd: 0.02, testsUsed: 14 },
  },
  lastTests: [
    { timeMs: now - 3 * dayMs, value: 7.9, sd: 0.1 },
    { timeMs: now - 2 * dayMs, value: 7.7, sd: 0.1 },
    { timeMs: now - 0.5 * dayMs, value: 7.55, sd: 0.1 },
  ],
  dosedSinceOldestTest: 1.75,
  product: {
    ...{ id: 'soda', name: 'Soda ash solution', timesPerDay: 4, mostMlPerDayPer100L: 50 },
    made: { of: 'sodium_carbonate', gramsPerLitre: 100 },
  },
  currentPlanPerDay: 0.7,
  water: {
    salinity: { value: 35, ageMs: dayMs },
    temperature_C: { value: 25, ageMs: 60_000 },
    phTotal: { value: 8.1, ageMs: 60_000 },
  },
  nowMs: now,
};

/** The example with another estimate. */
export function withEstimate(change: Partial<NonNullable<AdviceInput['estimate']>>, input = example): AdviceInput {
  return { ...input, estimate: { ...input.estimate!, ...change } };
}
