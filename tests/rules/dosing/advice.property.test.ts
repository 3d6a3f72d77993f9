import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { adviseDose } from '#rules/dosing/advice.ts';
import type { AdviceInput, AdviceProduct } from '#rules/dosing/advice-types.ts';
import { dayMs, example, now } from './advice-case.ts';

const number = (min: number, max: number) => fc.double({ min, max, noNaN: true });

const product: fc.Arbitrary<AdviceProduct> = fc
  .record({
    made: fc.oneof(
      fc.record({ of: fc.constant('sodium_bicarbonate' as const), gramsPerLitre: number(5, 90) }),
      fc.record({ of: fc.constant('sodium_carbonate' as const), gramsPerLitre: number(5, 230) }),
      fc.record({ of: fc.constant('sodium_hydroxide' as const), gramsPerLitre: number(1, 200) }),
      fc.record({ of: fc.constant('calcium_hydroxide' as const), gramsPerLitre: number(0.5, 1.5) }),
      fc.constant({ of: 'sodium_carbonate' as const }),
      fc.record({
        of: fc.constant('own_strength' as const),
        raises: fc.constant('alkalinity' as const),
        raises100LByPerMl: number(0.005, 0.5),
      }),
    ),
    timesPerDay: fc.constantFrom(1, 2, 6, 24, 96),
    limit: fc.option(number(0.5, 400), { nil: undefined }),
  })
  .map(({ made, timesPerDay, limit }) => ({
    ...{ id: 'p', name: 'Product', made, timesPerDay },
    ...(limit === undefined ? {} : { mostMlPerDayPer100L: limit, mostGramsPerDayPer100L: limit / 100 }),
  }));

const { product: _, ...bare } = example;

const input: fc.Arbitrary<AdviceInput> = fc
  .record({
    volumeL: number(50, 5000),
    middle: number(7, 10),
    width: number(0.8, 3),
    mostPerDay: number(0.2, 1.5),
    highestPh: number(8.1, 8.7),
    level: number(4, 13),
    levelSd: number(0.02, 0.3),
    demand: number(0, 4),
    demandSd: number(0.005, 0.6),
    plan: number(0, 4),
    product: fc.option(product, { nil: undefined }),
    ph: number(7.7, 8.5),
    calcium: number(350, 500),
  })
  .map((drawn) => ({
    ...bare,
    system: {
      volumeL: drawn.volumeL,
      band: { low: drawn.middle - drawn.width / 2, high: drawn.middle + drawn.width / 2, mostPerDay: drawn.mostPerDay },
      otherBands: { calcium: { low: 400, high: 450, mostPerDay: 15 } },
      highestPhAfterDose: drawn.highestPh,
    },
    estimate: {
      ...example.estimate!,
      ...{ level: drawn.level, levelSd: drawn.levelSd, demandPerDay: drawn.demand, demandSd: drawn.demandSd },
    },
    ...(drawn.product === undefined ? {} : { product: drawn.product }),
    currentPlanPerDay: drawn.plan,
    water: {
      ...example.water,
      phTotal: { value: drawn.ph, ageMs: 0 },
      calcium_mg_L: { value: drawn.calcium, ageMs: dayMs },
    },
  }));

const runs = { numRuns: 400, seed: 21 };

describe('what advice never does', () => {
  it('never lifts the level faster than the band allows, by the day or by the dose', () => {
    let dosed = 0;
    fc.assert(
      fc.property(input, (given) => {
        const advice = adviseDose(given);
        if (advice.kind !== 'dose') return;
        dosed++;
        const most = given.system.band.mostPerDay!;
        const demand = given.estimate!.demandPerDay;
        const standing = advice.maintenance?.risePerDay ?? given.currentPlanPerDay;
        const raised = advice.maintenance !== undefined && standing > given.currentPlanPerDay;
        if (advice.correction || raised) {
          for (const rise of advice.correction?.riseOnDay ?? [0])
            expect(standing + rise - demand).toBeLessThanOrEqual(most + 1e-9);
        }
        for (const dose of [advice.maintenance, advice.correction]) {
          if (dose) expect(dose.largestRise).toBeLessThanOrEqual(most + 1e-9);
        }
      }),
      runs,
    );
    expect(dosed).toBeGreaterThan(80);
  });

  it('never lifts pH past the limit with one dose', () => {
    fc.assert(
      fc.property(input, (given) => {
        const { predicted } = adviseDose(given);
        if (predicted?.phAfterLargestDose === undefined) return;
        const highest = Math.max(given.system.highestPhAfterDose, 0);
        const isLowered = predicted.phAfterLargestDose <= predicted.phBefore!;
        expect(isLowered || predicted.phAfterLargestDose <= highest + 1e-6).toBe(true);
      }),
      runs,
    );
  });

  it('never goes past the limit of the product in a day', () => {
    fc.assert(
      fc.property(input, (given) => {
        const advice = adviseDose(given);
        const { product: used, system } = given;
        if (used === undefined || used.mostMlPerDayPer100L === undefined || advice.kind !== 'dose') return;
        const isDry = used.made.of !== 'own_strength' && used.made.gramsPerLitre === undefined;
        const most = ((isDry ? used.mostGramsPerDayPer100L! : used.mostMlPerDayPer100L) * system.volumeL) / 100;
        if (advice.maintenance) {
          const inAll = advice.maintenance.amountPerDay! + Math.max(0, ...(advice.correction?.amountOnDay ?? []));
          expect(inAll).toBeLessThanOrEqual(most + 1e-6);
        }
      }),
      runs,
    );
  });

  it('never adds anything to bring a level down, nor raises the plan above the band', () => {
    fc.assert(
      fc.property(input, (given) => {
        const advice = adviseDose(given);
        if (given.estimate!.level <= given.system.band.high) return;
        expect(['wait', 'hold_back']).toContain(advice.kind);
        expect(advice.correction).toBeUndefined();
        if (advice.maintenance) expect(advice.maintenance.risePerDay).toBeLessThan(given.currentPlanPerDay);
      }),
      runs,
    );
  });

  it('never asks for less because the level is lower, nor for more than the way to the middle', () => {
    fc.assert(
      fc.property(input, number(0, 3), (given, lower) => {
        const { band } = given.system;
        const middle = (band.low + band.high) / 2;
        const level = Math.min(given.estimate!.level, band.high);
        const at = (height: number) => adviseDose({ ...given, estimate: { ...given.estimate!, level: height } });
        const [high, low] = [at(level), at(level - lower)];
        if (high.kind === 'hold_back' || low.kind === 'hold_back') return;
        // The pH that a base leads to falls a little with the alkalinity it meets, so both must be judged by the same limit.
        const today = (advice: typeof high): number => advice.correction?.riseOnDay[0] ?? 0;
        expect(today(low)).toBeGreaterThanOrEqual(today(high) - 1e-9);
        expect(low.correction?.totalRise ?? 0).toBeGreaterThanOrEqual((high.correction?.totalRise ?? 0) - 1e-9);
        expect(high.correction?.totalRise ?? 0).toBeLessThanOrEqual(Math.max(0, middle - level) + 1e-9);
      }),
      runs,
    );
  });

  it('never asks for a change smaller than what it does not know', () => {
    fc.assert(
      fc.property(input, (given) => {
        const advice = adviseDose(given);
        const { estimate, system } = given;
        const middle = (system.band.low + system.band.high) / 2;
        if (advice.correction) expect(middle - estimate!.level).toBeGreaterThan(1.96 * estimate!.levelSd);
        if (advice.maintenance && advice.kind === 'dose') {
          expect(Math.abs(estimate!.demandPerDay - given.currentPlanPerDay)).toBeGreaterThan(1.96 * estimate!.demandSd);
        }
      }),
      runs,
    );
  });

  it('never leaves a held-back advice with a dose in it, nor an advice that cannot be stored', () => {
    fc.assert(
      fc.property(input, fc.boolean(), fc.integer({ min: 0, max: 20 }), (given, suspect, daysOld) => {
        const lastTests = [{ timeMs: now - daysOld * dayMs, value: given.estimate!.level }];
        const advice = adviseDose({ ...given, lastTests, estimate: { ...given.estimate!, suspect } });
        expect(JSON.parse(JSON.stringify(advice))).toEqual(advice);
        expect(JSON.stringify(advice)).not.toContain('null');
        expect(advice.working.length).toBeGreaterThan(0);
        expect(advice.kind === 'hold_back').toBe(advice.holdBacks.length > 0);
        if (suspect || daysOld > 5) expect(advice.kind).toBe('hold_back');
        if (advice.kind === 'hold_back') expect(advice.maintenance ?? advice.correction).toBeUndefined();
      }),
      runs,
    );
  });
});
