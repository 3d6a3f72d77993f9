import { describe, expect, test } from 'vitest';
import { lowerTail, testedBelow } from '#rules/trend/censored-test.ts';
import { demandEstimate, startDemand, stepDemand } from '#rules/trend/demand-filter.ts';
import { demandHistory } from '#rules/trend/demand-history.ts';
import { nutrientCover, starvedCover } from './nutrient-cover.ts';

/** All cases of the long form: TANKS=1000 npx vitest run tests/rules/trend/censored-test. */
const tanks = Number(process.env['TANKS'] ?? 20);
const dayMs = 86_400_000;

/** Trapezoids over twelve standard deviations: numerical integration of the definition. */
function integral(of: (x: number) => number, from: number, to: number): number {
  const steps = 40_000;
  const width = (to - from) / steps;
  let sum = (of(from) + of(to)) / 2;
  for (let k = 1; k < steps; k += 1) sum += of(from + k * width);
  return sum * width;
}
const density = (x: number): number => Math.exp(-(x * x) / 2) / Math.sqrt(2 * Math.PI);

describe('a kit that shows nothing', () => {
  test.each([-9, -6, -5.01, -4.99, -2, 0, 1.5, 4])('the share of a normal distribution below %f sd is wrong', (z) => {
    const share = integral(density, z - 12, z);
    const { logShare, mills } = lowerTail(z);
    // The table's own accuracy is 8e-8 of the whole, so in the tail before its series 0.3 of a hundredth of the share.
    expect(logShare).toBeCloseTo(Math.log(share), z < -3 ? 1.5 : 5);
    expect(mills / (density(z) / share)).toBeCloseTo(1, z < -3 ? 1.5 : 5);
  });

  test('the level and the use that go with it are not those of Bayes’ rule, computed point by point', () => {
    const belief = {
      mean: [0.05, 0.01, 0, 0],
      covariance: [4e-4, 6e-5, 0, 0, 6e-5, 2.5e-5, 0, 0, 0, 0, 0.2, 0, 0, 0, 0, 0.2],
    };
    const [limit, variance] = [0.02, 1.5e-4];
    const found = testedBelow(belief, limit, variance);
    // Chance of "below" for each level, and by it the moments of level and use over a grid.
    const sums = { all: 0, level: 0, use: 0, square: 0, both: 0 };
    const [sdLevel, slope] = [0.02, 6e-5 / 4e-4];
    const seen = (level: number): number => integral(density, -8, (limit - level) / Math.sqrt(variance));
    for (let z = -6; z <= 6; z += 0.02) {
      const level = 0.05 + sdLevel * z;
      const weight = density(z) * (level > limit + 8 * Math.sqrt(variance) ? 0 : seen(level));
      const use = 0.01 + slope * (level - 0.05);
      sums.all += weight;
      sums.level += weight * level;
      sums.use += weight * use;
      sums.square += weight * level * level;
      sums.both += weight * level * use;
    }
    const level = sums.level / sums.all;
    const use = sums.use / sums.all;
    expect(found.belief.mean[0]! / level).toBeCloseTo(1, 3);
    expect(found.belief.mean[1]! / use).toBeCloseTo(1, 3);
    expect(found.belief.covariance[0]! / (sums.square / sums.all - level * level)).toBeCloseTo(1, 2);
    expect(found.belief.covariance[1]! / (sums.both / sums.all - level * use)).toBeCloseTo(1, 2);
    expect(found.logDensity).toBeCloseTo(Math.log(sums.all * 0.02), 2);
  });

  test('is taken for a tank without phosphate', () => {
    const reading = (day: number, value: number, isBelow = false) => ({
      timeMs: day * dayMs,
      evidence: { is: 'test' as const, value, ...(isBelow ? { isBelow } : {}) },
    });
    const first = stepDemand(startDemand({ analyte: 'phosphate' }), reading(0, 0.02, true).evidence, 0);
    // Anywhere from 0 to 0.02: the middle, and no surer than its spread of 0.02 / √12.
    expect(demandEstimate(first, 0)?.level).toBeCloseTo(0.01, 9);
    expect(demandEstimate(first, 0)?.levelSd).toBeGreaterThan(0.02 / Math.sqrt(12));
    const diary = [
      ...[0, 7, 14].map((day) => reading(day, 0.08 - 0.002 * day)),
      ...[28, 35, 42].map((day) => reading(day, 0.02, true)),
    ];
    let state = startDemand({ analyte: 'phosphate' });
    for (const { timeMs, evidence } of diary) state = stepDemand(state, evidence, timeMs);
    const now = demandEstimate(state, 42 * dayMs)!;
    expect(now.level).toBeGreaterThanOrEqual(0);
    expect(now.level + 2 * now.levelSd).toBeGreaterThan(0.01);
    expect(now.level).toBeLessThan(0.02);
    const past = demandHistory(diary, { analyte: 'phosphate' });
    expect(past.every(({ level, levelSd }) => Number.isFinite(level) && levelSd > 0)).toBe(true);
    expect(past.at(-1)!.level).toBeLessThan(0.025);
  });

  test('the intervals of starved tanks, whose use falls with what is left, are too narrow', { timeout: 4e6 }, () => {
    const cover = starvedCover(Array.from({ length: tanks }, (_, at) => 7001 + at));
    console.log(
      `starved phosphate, ${tanks} tanks, ${(100 * cover.below).toFixed(0)} % of tests below the limit: 95 % intervals held level ${(100 * cover.level).toFixed(1)} %, ` +
        `use ${(100 * cover.use).toFixed(1)} %; mean error of the use ${(1000 * cover.useMeanError).toFixed(2)} µg/L a day`,
    );
    expect(cover.level).toBeGreaterThanOrEqual(tanks >= 500 ? 0.92 : 0.75);
    expect(cover.use).toBeGreaterThanOrEqual(tanks >= 500 ? 0.92 : 0.8);
    expect(cover.use).toBeLessThanOrEqual(tanks >= 500 ? 0.98 : 1);
    // A steady use is what the filter knows: in a tank that has nothing left it is said too high, by a twentieth of one test a day at most.
    expect(Math.abs(cover.useMeanError)).toBeLessThan(0.0015);
  });

  test('the intervals of simulated tanks are too narrow, or too wide', { timeout: 4e6 }, () => {
    const cover = nutrientCover(Array.from({ length: tanks }, (_, at) => 1 + at));
    console.log(
      `phosphate, ${tanks} tanks, ${(100 * cover.below).toFixed(0)} % of tests below the limit: 95 % intervals held level ${(100 * cover.level).toFixed(1)} %, ` +
        `use ${(100 * cover.use).toFixed(1)} %; error of the level ${cover.levelError.toFixed(4)} mg/L, with 0 taken as zero ${cover.levelErrorAsZero.toFixed(4)} mg/L`,
    );
    expect(cover.level).toBeGreaterThanOrEqual(tanks >= 500 ? 0.92 : 0.75);
    expect(cover.level).toBeLessThanOrEqual(tanks >= 500 ? 0.98 : 1);
    expect(cover.use).toBeGreaterThanOrEqual(tanks >= 500 ? 0.92 : 0.75);
    expect(cover.levelError).toBeLessThan(cover.levelErrorAsZero);
  });
});
