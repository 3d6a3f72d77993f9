import { describe, expect, it } from 'vitest';
import type { DemandEstimate } from '#rules/trend/demand-filter.ts';
import { type ForecastPoint, forecastLevel, likelyExit } from '#rules/trend/forecast.ts';
import { normalShareBelow } from '#rules/trend/normal-distribution.ts';

const dayMs = 86_400_000;
const now = Date.UTC(2026, 3, 1);
const estimate: DemandEstimate = {
  ...{ timeMs: now, level: 8, levelSd: 0.1, demandPerDay: 0.5, demandSd: 0.05, levelDemandCovariance: 0 },
  ...{ suspect: false, learnedTestSd: 0.1, learnedGrowthSd: 0.03, testsUsed: 12 },
};
const band = { low: 7.5, high: 9 };
const outside = ({ chanceBelow, chanceAbove }: ForecastPoint): number => chanceBelow + chanceAbove;

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

  it('days that cannot be looked ahead, or a dose without end, are counted', () => {
    for (const days of [0, -1, 60.1, Number.NaN])
      expect(() => forecastLevel(estimate, { risePerDay: 0 }, band, days)).toThrow(
        `days to look ahead is ${days}, allowed: 0.01 to 60`,
      );
    const doses = [{ timeMs: now + dayMs, rise: Number.POSITIVE_INFINITY }];
    expect(() => forecastLevel(estimate, { risePerDay: 0, doses }, band)).toThrow(
      'planned dose is Infinity, allowed: -10000 to',
    );
    for (const risePerDay of [Number.NaN, 1e5])
      expect(() => forecastLevel(estimate, { risePerDay }, band)).toThrow(
        `planned rise a day is ${risePerDay}, allowed: -10000 to 10000`,
      );
    // Four points a day, the last at the end, and at least one step.
    const times = (days: number) =>
      forecastLevel(estimate, { risePerDay: 0 }, band, days).points.map(({ timeMs }) => (timeMs - now) / dayMs);
    expect(times(1)).toEqual([0, 0.25, 0.5, 0.75, 1]);
    expect(times(0.3)).toEqual([0, 0.15, 0.3]);
    expect(times(0.1)).toEqual([0, 0.1]);
  });

  it('a high level with a small demand is as unsure as a high level with a large one', () => {
    // By hand, a day on: 0.1² − 2 × covariance + 0.05² + 0.03² / 3; what is known of both together counts.
    for (const levelDemandCovariance of [0.004, -0.004]) {
      const [, , , , day] = forecastLevel({ ...estimate, levelDemandCovariance }, { risePerDay: 0.5 }, band).points;
      const variance = 0.01 - 2 * levelDemandCovariance + 0.0025 + 0.0003;
      expect(day!.high95 - day!.level).toBeCloseTo(1.96 * Math.sqrt(variance), 9);
      expect(day!.level - day!.low95).toBeCloseTo(1.96 * Math.sqrt(variance), 9);
    }
    // More than can be, by rounding: no interval instead of none that is a number.
    const [, , , , tight] = forecastLevel({ ...exact, levelDemandCovariance: 0.01 }, { risePerDay: 0.5 }, band).points;
    expect(tight).toMatchObject({ low95: 8, high95: 8 });
  });

  it('water that gains instead of losing is said to gain ever faster', () => {
    const gaining = { ...exact, demandPerDay: -0.2, growthShare: 0.05, growthShareSd: 0.01 };
    const last = forecastLevel(gaining, { risePerDay: 0 }, { low: 0, high: 99 }).points.at(-1)!;
    expect(last).toMatchObject({ level: expect.closeTo(9.4, 9), low95: expect.closeTo(9.4, 9) });
  });

  it('the chance to leave the band is that of the first day or the last, and not the largest', () => {
    // A dose on the third day lifts the level over the band, and the demand brings it back.
    const doses = [{ timeMs: now + 2 * dayMs, rise: 1.6 }];
    const forecast = forecastLevel({ ...exact, levelSd: 0.1 }, { risePerDay: 0.25, doses }, band);
    expect(forecast.chanceToLeave).toBe(Math.max(...forecast.points.map(outside)));
    expect(outside(forecast.points.at(-1)!)).toBeLessThan(0.5);
    expect(forecast.chanceToLeave).toBeGreaterThan(0.75);
    expect(forecast.leavesBy).toBe('high');
    // 7.75 at a day and three quarters, 9.1 a quarter of a day later: the edge at 9 in the last part of that quarter.
    expect((forecast.leavesAtMs! - now) / dayMs).toBeCloseTo(1.75 + (0.25 * (9 - 7.5625)) / (9.1 - 7.5625), 9);
  });

  it('a chance is other than the normal distribution gives, or no number where nothing is in doubt', () => {
    const chance = (level: number, levelSd: number) =>
      forecastLevel({ ...exact, level, levelSd }, { risePerDay: 0.5 }, band).chanceToLeave;
    expect([chance(8, 0), chance(7.4, 0), chance(9.1, 0)]).toEqual([0, 1, 1]);
    // At the very edge it is inside.
    expect([chance(7.5, 0), chance(9, 0)]).toEqual([0, 0]);
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

describe('the side and the time of an alarm', () => {
  it('a time is said with the chance of another time, or of both sides together', () => {
    const exit = likelyExit(forecastLevel(estimate, { risePerDay: 0.25 }, band));
    expect(exit).toMatchObject({ side: 'low', chance: 0.8 });
    // Four in five are below 0.8416 standard deviations (tables of the normal distribution). By hand: after 2.605 days the
    // level is 7.5 - 0.1513, and its sd √(0.1² + (2.605 × 0.05)² + 0.03² × 2.605³ / 3) = 0.1797.
    expect((exit.atMs - now) / dayMs).toBeCloseTo(2.605, 1);
  });

  it('a demand that may be anything is said to take the level out on the side that is barely the likelier', () => {
    const vague = { ...estimate, level: 8.1, demandPerDay: 1, demandSd: 2 };
    const forecast = forecastLevel(vague, { risePerDay: 0.66 }, band);
    expect(forecast.chanceToLeave).toBeGreaterThan(0.9);
    expect(likelyExit(forecast).chance).toBeLessThan(0.6);
  });

  it('a level that is out already has no time', () => {
    const exit = likelyExit(forecastLevel({ ...estimate, level: 9.3 }, { risePerDay: 0.5 }, band));
    // By hand: 0.3 / 0.1 = 3 standard deviations above the edge; 0.99865 in the tables.
    expect(exit).toEqual({ side: 'high', atMs: now, chance: expect.closeTo(0.99865, 4) });
  });

  it('a level that nobody is sure of is out on the side where it never was', () => {
    const exit = likelyExit(forecastLevel({ ...estimate, level: 8.9, levelSd: 0.2 }, { risePerDay: 0.5 }, band));
    expect(exit.side).toBe('high');
    expect(exit.chance).toBeLessThan(0.5);
  });
});
