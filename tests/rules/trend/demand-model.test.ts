import { describe, expect, it } from 'vitest';
import {
  type Belief,
  carriedOn,
  carryingSlopes,
  loosened,
  merged,
  mixed,
  tested,
  type Wander,
} from '#rules/trend/demand-model.ts';
import { inverse, product, transposed } from '#rules/trend/matrix4.ts';

const dayMs = 86_400_000;
const morning = Date.UTC(2026, 2, 2, 7, 20);
const still: Wander = { growthSd: 0, leastDemand: 0.2, growthShare: 0, levelSd: 0 };
/** A lower triangle times its transpose: a spread in which everything hangs together. */
const root = [0.2, 0, 0, 0, -0.05, 0.3, 0, 0, 0.02, 0.04, 0.25, 0, -0.03, 0.01, 0.05, 0.35];
const belief: Belief = { mean: [8.2, 1.7, 0.4, -0.3], covariance: product(root, transposed(root)) };

const close = (found: readonly number[], wanted: readonly number[], digits = 9): void => {
  expect(found).toHaveLength(wanted.length);
  for (const [place, entry] of found.entries()) expect(entry).toBeCloseTo(wanted[place]!, digits);
};

/** The same loss summed minute by minute. */
function summed(mean: readonly number[], fromMs: number, toMs: number, growthShare: number): number {
  const [level, demand, a, b] = mean as [number, number, number, number];
  const steps = 4000;
  const stepDays = (toMs - fromMs) / dayMs / steps;
  let lost = 0;
  for (let step = 0; step < steps; step++) {
    const days = (step + 0.5) * stepDays;
    const angle = 2 * Math.PI * (fromMs / dayMs + days);
    lost += demand * Math.exp(growthShare * days) * (1 + a * Math.cos(angle) + b * Math.sin(angle)) * stepDays;
  }
  return level - lost;
}

describe('what the water loses between two times', () => {
  it.each([
    ['from morning to noon', 0.2],
    ['over a day and a third', 1.33],
    ['over a night and two days', 2.4],
  ])('is other than the loss summed minute by minute, %s', (_, days) => {
    const { mean } = carriedOn(belief, morning, morning + days * dayMs, still);
    expect(mean[0]).toBeCloseTo(summed(belief.mean, morning, morning + days * dayMs, 0), 5);
    expect(mean.slice(1)).toEqual([1.7, 0.4, -0.3]);
  });

  it('a demand that grows by 2 % a day is taken to stay, or to grow faster than it does', () => {
    const even = { ...belief, mean: [8.2, 1.7, 0, 0] };
    const { mean } = carriedOn(even, morning, morning + 3 * dayMs, { ...still, growthShare: 0.02 });
    // Growth is taken to its second order: what is left out is below 0.02² × 3³ / 6 of the demand.
    expect(Math.abs(mean[0]! - summed(even.mean, morning, morning + 3 * dayMs, 0.02))).toBeLessThan(0.004);
    // Compound growth, by hand: 1.7 × e^0.06.
    expect(mean[1]).toBeCloseTo(1.7 * 1.0618365, 6);
  });

  it('the slopes of that loss are other than a small change of each belief shows', () => {
    const toMs = morning + 1.33 * dayMs;
    const growing = { ...still, growthShare: 0.02 };
    const slopes = carryingSlopes(belief.mean, morning, toMs, growing);
    const small = 1e-5;
    const byDifference = [0, 1, 2, 3].map((state) => {
      const [above, below] = [small, -small].map((change) => {
        const mean = belief.mean.with(state, belief.mean[state]! + change);
        return carriedOn({ ...belief, mean }, morning, toMs, growing).mean;
      });
      return above!.map((entry, row) => (entry - below![row]!) / (2 * small));
    });
    close(slopes, transposed(byDifference.flat()), 8);
  });
});

describe('what is not known between two times', () => {
  // The random growth of a rate and of what it sums to: variances T and T³/3, covariance T²/2 (Bar-Shalom, Li & Kirubarajan 2001,
  // section 6.2, cited from memory), minus here, since demand lowers the level. The product of two errors has the product
  // of their variances (Goodman 1960, cited from memory). 0.005 for each root of a day is how lamps are taken to change.
  it.each([
    ['a demand that wanders', { growthSd: 0.05, leastDemand: 0.2, growthShare: 0, levelSd: 0.03 }, 1.7],
    ['a demand that wanders and grows', { growthSd: 0.02, leastDemand: 0.2, growthShare: 0.03, levelSd: 0 }, 1.7],
    [
      'a demand so small that it wanders as a larger one',
      { growthSd: 0.3, leastDemand: 2.5, growthShare: 0, levelSd: 0.1 },
      2.5,
    ],
  ] as [string, Wander, number][])('is other than the published law for %s', (_, wander, wandersAs) => {
    const days = 1.33;
    const toMs = morning + days * dayMs;
    const slopes = carryingSlopes(belief.mean, morning, toMs, wander);
    const wanted = product(product(slopes, belief.covariance), transposed(slopes));
    const growth = (wander.growthSd * wandersAs) ** 2;
    const [cosine, sine] = [slopes[2]! / -1.7, slopes[3]! / -1.7];
    const spread = belief.covariance;
    const ofProduct = spread[5]! * (spread[10]! * cosine ** 2 + spread[15]! * sine ** 2);
    wanted[0]! += (growth * days ** 3) / 3 + wander.levelSd ** 2 * days + ofProduct;
    for (const place of [1, 4]) wanted[place]! -= (growth * days ** 2) / 2;
    wanted[5]! += growth * days;
    for (const place of [10, 15]) wanted[place]! += 0.005 ** 2 * days;
    close(carriedOn(belief, morning, toMs, wander).covariance, wanted);
  });

  it('after no time anything has changed', () => {
    const { mean, covariance } = carriedOn(belief, morning, morning, { ...still, growthSd: 0.1, levelSd: 0.1 });
    close(mean, belief.mean, 12);
    close(covariance, belief.covariance, 12);
  });
});

describe('what an event does to the belief', () => {
  it('a quarter of new water leaves the level, or its doubt, as it was', () => {
    const after = mixed(belief, 0.25, 10, 0.4);
    // By hand: three quarters of 8.2 and a quarter of 10.
    close(after.mean, [8.65, 1.7, 0.4, -0.3], 12);
    const keeping = [0.75, 0, 0, 0, 0, 1, 0, 0, 0, 0, 1, 0, 0, 0, 0, 1];
    const wanted = product(product(keeping, belief.covariance), transposed(keeping));
    wanted[0]! += (0.25 * 0.4) ** 2;
    close(after.covariance, wanted, 12);
    // All of it swapped: nothing of the old water is left to be known.
    expect(mixed(belief, 1, 10, 0.4)).toMatchObject({ mean: [10, 1.7, 0.4, -0.3] });
    close([mixed(belief, 1, 10, 0.4).covariance[0]!, mixed(belief, 1, 10, 0.4).covariance[1]!], [0.16, 0], 12);
    expect(belief.mean[0]).toBe(8.2);
  });

  it('an arrival widens what is known of the level instead of the demand', () => {
    for (const [state, place] of [
      [0, 0],
      [1, 5],
    ] as const) {
      const after = loosened(belief, state, 0.7);
      close(after.covariance, belief.covariance.with(place, belief.covariance[place]! + 0.7), 12);
      expect(after.mean).toEqual(belief.mean);
    }
  });

  it('a test moves the belief by other than its weight', () => {
    const variance = 0.09;
    const after = tested(belief, 7.6, variance);
    // The other form of the same law, by information instead of gain: what was known plus what the test adds.
    const known = inverse(belief.covariance);
    const covariance = inverse(known.with(0, known[0]! + 1 / variance));
    close(after.belief.covariance, covariance, 9);
    const pull = belief.mean.map((_, row) =>
      [0, 1, 2, 3].reduce((sum, k) => sum + known[row * 4 + k]! * belief.mean[k]!, row === 0 ? 7.6 / variance : 0),
    );
    const mean = pull.map((_, row) => [0, 1, 2, 3].reduce((sum, k) => sum + covariance[row * 4 + k]! * pull[k]!, 0));
    close(after.belief.mean, mean, 9);
    // The density of the normal distribution at 0.6 below the expected, variance 0.04 + 0.09.
    const density = Math.exp(-(0.6 ** 2) / (2 * 0.13)) / Math.sqrt(2 * Math.PI * 0.13);
    expect(Math.exp(after.logDensity)).toBeCloseTo(density, 9);
  });

  it('two ways of reading a test are told as surer than either, or weighed by more than their share', () => {
    const low: Belief = { mean: [7, 1, 0.1, 0.2], covariance: belief.covariance };
    const high: Belief = { mean: [9, 2, 0.5, -0.2], covariance: belief.covariance.map((entry) => 2 * entry) };
    // Law of total variance, weights 3 to 1 that do not add up to 1: mean of the spreads and spread of the means.
    const apart = [-2, -1, -0.4, 0.4];
    const whole = merged([
      { weight: 0.6, belief: low },
      { weight: 0.2, belief: high },
    ]);
    close(whole.mean, [7.5, 1.25, 0.2, 0.1], 12);
    const wanted = belief.covariance.map(
      (entry, place) => 1.25 * entry + 0.75 * 0.25 * apart[Math.floor(place / 4)]! * apart[place % 4]!,
    );
    close(whole.covariance, wanted, 12);
  });
});
