import { describe, expect, it } from 'vitest';
import { adviseDose } from '#rules/dosing/advice.ts';
import type { AdviceInput } from '#rules/dosing/advice-types.ts';
import { dayMs, now, withEstimate, withPlan, withTests } from './advice-case.ts';

/** Doses of a plan that ran until some days ago, in hourly portions. */
function dosedUntil(daysAgo: number, risePerDay: number): NonNullable<AdviceInput['doses']> {
  const hours = Array.from({ length: 24 * (10 - daysAgo) }, (_, i) => 24 * daysAgo + i);
  return hours.map((hour) => ({ timeMs: now - hour * 3_600_000, rise: risePerDay / 24, isPlanned: true })).reverse();
}

describe('a tank is cut off from what its corals use', () => {
  it('by two wrong tests that make the use look like none', () => {
    const wrong = withEstimate({ level: 8.9, levelSd: 0.3, demandPerDay: 0.1, demandSd: 0.45, testsUsed: 3 });
    const advice = adviseDose(withTests([8, 9.3], wrong));
    const after = advice.plan[0]?.risePerDay ?? 1;
    // The band allows 0.5 dKH a day: no more than two thirds of it less at a time.
    expect(after).toBeGreaterThan(0.65);
    expect(after).toBeLessThan(1);
  });

  it('but a use that is well known is followed at once', () => {
    const advice = adviseDose(withPlan(2, withEstimate({ level: 8.6, demandPerDay: 0.8 })));
    expect(advice.plan[0]!.risePerDay).toBeLessThan(0.95);
  });

  it('because a level that is too low in all of its interval is not known narrowly enough', () => {
    const low = withPlan(0.2, withEstimate({ level: 5.5, levelSd: 0.5, demandPerDay: 1, demandSd: 0.1 }));
    const advice = adviseDose(withTests([6.2, 5.9, 5.5], low));
    expect(advice.holdBacks).toEqual([]);
    expect(advice.plan[0]!.risePerDay).toBeGreaterThan(0.9);
    const wide = adviseDose(withEstimate({ level: 7.4, levelSd: 0.5 }));
    expect(wide.holdBacks.map(({ rule }) => rule)).toContain('interval_wider_than_band');
  });

  it('because the first low test after a stop stands alone', () => {
    const stopped = withPlan(
      0,
      withEstimate({ level: 8.4, levelSd: 1, demandPerDay: 0.5, demandSd: 0.3, suspect: true }),
    );
    const ran = { ...withTests([9.6, 9.8, 6.4], stopped), doses: dosedUntil(1, 1) };
    const advice = adviseDose(ran);
    expect(advice.holdBacks.map(({ rule }) => rule)).toContain('outlying_test');
    expect(advice.plan[0]!.risePerDay).toBeGreaterThan(0.3);
    expect(advice.plan[0]!.risePerDay).toBeLessThanOrEqual(0.5 + 1e-9);
    expect(advice.reason).toContain('give again what the corals may use');
    // Where nothing was dosed before, nothing begins on such a test.
    expect(adviseDose({ ...ran, doses: [] }).plan).toEqual([]);
  });

  it('because the little that is dosed may not arrive', () => {
    const past = [12, 11, 10, 9, 8, 7, 6, 5, 4].map((days) => ({
      ...{ timeMs: now - days * dayMs, demandPerDay: 0.4, demandSd: 0.05, testsUsed: 20 - days },
    }));
    const little = withPlan(0.4, withEstimate({ level: 6.5, demandPerDay: 1.6, demandSd: 0.05 }));
    const advice = adviseDose({ ...withTests([8.5, 7.6, 6.5], little), pastDemands: past });
    expect(advice.holdBacks.map(({ rule }) => rule)).toEqual(['plan_may_not_arrive']);
    // Of the 1.6 a day that seem to be used 0.4 may be the plan that never came: 1.1 and a little is used in either story.
    expect(advice.plan[0]!.risePerDay).toBeGreaterThan(0.8);
    expect(advice.plan[0]!.risePerDay).toBeLessThanOrEqual(1.2);
  });

  it('for a week, because of one test above the band', () => {
    const weekly = withEstimate({ level: 9.05, levelSd: 0.1, demandPerDay: 0.9, demandSd: 0.05 }, withPlan(1));
    const lastTests = [28, 21, 14, 7, 0].map((days, i) => ({
      timeMs: now - days * dayMs - 60_000,
      value: [8.3, 8.2, 8.4, 8, 9.1][i]!,
      sd: 0.15,
    }));
    const advice = adviseDose({ ...weekly, lastTests });
    const after = advice.plan[0]!.risePerDay;
    expect(after).toBeLessThan(0.9);
    // In seven days no further than to the middle of the band, 0.8 dKH below.
    expect(7 * (0.9 - after)).toBeLessThan(0.9);
  });
});

describe('what holds an increase back is passed by', () => {
  const low = withTests([8, 7.8, 7.6], withEstimate({ level: 7.6, demandPerDay: 1.3, demandSd: 0.05 }));
  /** A correction by hand of three days ago makes one of the last days richer than the plan. */
  const corrected = [...dosedUntil(0, 1), { timeMs: now - 3 * dayMs, rise: 0.5 }].sort((a, b) => a.timeMs - b.timeMs);

  it('a dosing that runs grows to the richest of the last days, on an old test', () => {
    const lastTests = low.lastTests.map((test) => ({ ...test, timeMs: test.timeMs - 8 * dayMs }));
    const advice = adviseDose({ ...low, lastTests, doses: corrected });
    expect(advice.holdBacks.map(({ rule }) => rule)).toContain('old_test');
    expect(advice.plan).toEqual([]);
  });

  it('a dosing that was cut begins again while the salinity is in doubt', () => {
    const cut = withPlan(0, low);
    const water = { ...cut.water, salinity: { value: 35, ageMs: dayMs, isSuspect: true } };
    const advice = adviseDose({ ...cut, water, doses: dosedUntil(1, 1) });
    expect(advice.holdBacks.map(({ rule }) => rule)).toContain('suspect_salinity');
    expect(advice.plan).toEqual([]);
  });

  it('doses by hand that do not show in the tests become a plan', () => {
    // Five days of the same dose by hand from a spent bottle, and the use seems to have grown by as much.
    const doses = [5, 4, 3, 2, 1].map((days) => ({ timeMs: now - days * dayMs, rise: 0.8 }));
    const past = Array.from({ length: 9 }, (_, i) => ({
      ...{ timeMs: now - (14 - i) * dayMs, demandPerDay: 0.2, demandSd: 0.03, testsUsed: 10 + i },
    }));
    const seen = withPlan(0, withEstimate({ level: 7.4, demandPerDay: 1, demandSd: 0.05 }));
    const advice = adviseDose({ ...withTests([8.4, 8.2, 8, 7.8, 7.6, 7.4], seen), doses, pastDemands: past });
    expect(advice.holdBacks.map(({ rule }) => rule)).toContain('doses_not_seen');
    // Of the 1.0 a day that seem to be used 0.8 may never have come.
    expect(advice.plan[0]?.risePerDay ?? 0).toBeLessThanOrEqual(0.2 + 1e-9);
  });
});

it('a single estimate that two wrong tests made passes for what the corals used before', () => {
  const past = [12, 11, 10, 9, 8, 7, 6, 5, 4].map((days) => ({
    ...{ timeMs: now - days * dayMs, demandPerDay: days === 4 ? 0.3 : 1, demandSd: days === 4 ? 0.28 : 0.05 },
    testsUsed: 20 - days,
  }));
  const advice = adviseDose({ ...withEstimate({ level: 7.6, demandPerDay: 1.05 }), pastDemands: past });
  expect(advice.holdBacks).toEqual([]);
  expect(advice.plan.length + advice.today.length).toBeGreaterThan(0);
});
