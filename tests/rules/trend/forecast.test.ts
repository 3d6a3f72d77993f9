import { describe, expect, it } from 'vitest';
import type { DemandEstimate } from '#rules/trend/demand-filter.ts';
import { forecastLevel } from '#rules/trend/forecast.ts';
import { normalShareBelow } from '#rules/trend/normal-distribution.ts';

const dayMs = 86_400_000;
const now = Date.UTC(2026, 3, 1);
const estimate: DemandEstimate = {
  ...{ timeMs: now, level: 8, levelSd: 0.1, demandPerDay: 0.5, demandSd: 0.05, levelDemandCovariance: 0 },
  ...{ suspect: false, learnedTestSd: 0.1, learnedGrowthSd: 0.03, testsUsed: 12 },
};
const band = { low: 7.5, high: 9 };

describe('level of the next days', () => {
  it('an undosed tank leaves the band when the demand says so', () => {
    const forecast = forecastLevel(estimate, { risePerDay: 0.25 }, band);
    // By hand: 8 - 7.5 = 0.5 at 0.25 a day net is two days.
    expect((forecast.leavesAtMs! - now) / dayMs).toBeCloseTo(2, 6);
    expect(forecast.leavesBy).toBe('low');
    expect(forecast.mayLeaveAtMs!).toBeLessThan(forecast.leavesAtMs!);
    const seventh = forecast.points.at(-1)!;
    expect(seventh.level).toBeCloseTo(8 - 7 * 0.25, 9);
    // By hand: variance 0.1² + (7 × 0.05)² + 0.03² × 7³ / 3 = 0.01 + 0.1225 + 0.1029
    expect(seventh.high95 - seventh.low95).toBeCloseTo(2 * 1.96 * Math.sqrt(0.2354), 6);
    expect(forecast.chanceToLeave).toBeGreaterThan(0.95);
  });

  it('dosing that meets the demand keeps the level, and a single dose lifts it from its own hour', () => {
    const forecast = forecastLevel(estimate, { risePerDay: 0.5, doses: [{ timeMs: now + dayMs, rise: 0.4 }] }, band);
    expect(forecast.leavesAtMs).toBeUndefined();
    expect(forecast.points[3]!.level).toBeCloseTo(8, 9);
    expect(forecast.points[4]!.level).toBeCloseTo(8.4, 9);
  });

  it('a demand that has grown steadily is not forecast to stop growing', () => {
    const growing = { ...estimate, growthShare: 0.02, growthShareSd: 0.004 };
    const [flat, grown] = [estimate, growing].map(
      (each) => forecastLevel(each, { risePerDay: 0.5 }, band).points.at(-1)!,
    );
    // By hand: 2 % of 0.5 dKH a day, more each day: 0.01 × 7² / 2 = 0.245 dKH in a week; sd 0.004 × 0.5 × 49 / 2 = 0.049.
    expect(flat!.level - grown!.level).toBeCloseTo(0.245, 9);
    expect(grown!.high95 - grown!.low95).toBeCloseTo(2 * 1.96 * Math.sqrt(0.2354 + 0.049 ** 2), 6);
  });

  it('a level outside its band now has left it now', () => {
    expect(forecastLevel({ ...estimate, level: 7 }, { risePerDay: 0.5 }, band).leavesAtMs).toBe(now);
  });
});

describe('the edges of a forecast', () => {
  /** Nothing is in doubt but what a case says. */
  const exact = { ...estimate, levelSd: 0, demandSd: 0, learnedGrowthSd: 0 };

  it('a level that rises out of its band is not said to leave it', () => {
    // By hand: 8 to 9 at 0.25 a day net is four days.
    const rising = forecastLevel(estimate, { risePerDay: 0.75 }, band);
    expect((rising.leavesAtMs! - now) / dayMs).toBeCloseTo(4, 6);
    expect(rising.leavesBy).toBe('high');
    // By hand: 8.85 + 1.96 × 0.1 = 9.046 touches 9 at once, though 8.85 stays.
    const near = forecastLevel({ ...estimate, level: 8.85 }, { risePerDay: 0.5 }, band);
    expect([near.mayLeaveAtMs, near.leavesAtMs]).toEqual([now, undefined]);
    // At the very edge it is inside.
    expect(forecastLevel({ ...exact, level: 9 }, { risePerDay: 0.5 }, band)).not.toHaveProperty('leavesAtMs');
    expect(forecastLevel({ ...exact, level: 7.5 }, { risePerDay: 0.5 }, band)).not.toHaveProperty('mayLeaveAtMs');
  });

  it('a dose that was given already is given again', () => {
    const doses = [now - dayMs, now].map((timeMs) => ({ timeMs, rise: 1 }));
    expect(forecastLevel(exact, { risePerDay: 0.5, doses }, band).points.map(({ level }) => level)).toEqual(
      Array(29).fill(8),
    );
  });

  it('a chance is other than the normal distribution gives, or no number where nothing is in doubt', () => {
    const chance = (level: number, levelSd: number) =>
      forecastLevel({ ...exact, level, levelSd }, { risePerDay: 0.5 }, band).chanceToLeave;
    expect([chance(8, 0), chance(7.4, 0), chance(9.1, 0)]).toEqual([0, 1, 1]);
    // Tables of the normal distribution: 2.2750 % beyond 2 sd, 0.0032 % beyond 4; 0.1350 % beyond 3.
    expect(chance(8, 0.25)).toBeCloseTo(0.022782, 5);
    expect(chance(8.25, 0.25)).toBeCloseTo(0.0027, 5);
  });
});

describe('normal distribution', () => {
  it('agrees with its density summed step by step, so that no chance is misjudged', () => {
    let sum = 0.5;
    const step = 1e-4;
    for (let x = 0; x < 3; x += step) {
      sum += (step * Math.exp(-((x + step / 2) ** 2) / 2)) / Math.sqrt(2 * Math.PI);
      if (Math.round(x / step) % 5000 === 4999) {
        expect(normalShareBelow(x + step)).toBeCloseTo(sum, 6);
        expect(normalShareBelow(-x - step)).toBeCloseTo(1 - sum, 6);
      }
    }
    // Common check values: 97.5 % lie below 1.959964.
    expect(normalShareBelow(1.959964)).toBeCloseTo(0.975, 6);
  });
});
