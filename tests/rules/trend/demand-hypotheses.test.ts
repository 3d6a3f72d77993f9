import { describe, expect, it } from 'vitest';
import { demandFacts } from '#rules/trend/demand-facts.ts';
import {
  firstDemandOf,
  firstHypotheses,
  type Hypothesis,
  overallBelief,
  weighTest,
} from '#rules/trend/demand-hypotheses.ts';

const dayMs = 86_400_000;
const midnight = Date.UTC(2026, 2, 2);
const facts = demandFacts.alkalinity;
const sum = (numbers: readonly number[]): number => numbers.reduce((total, number) => total + number, 0);
/** Density of the normal distribution. */
const density = (off: number, variance: number): number =>
  Math.exp(-(off * off) / (2 * variance)) / Math.sqrt(2 * Math.PI * variance);

/** One choice alone, over whole days, in which the day cycle comes back to nothing: all by hand from here. */
const variances = { level: 0.01, demand: 0.04 };
const alone = (more: Partial<Hypothesis> = {}, level = 8, demand = 0.5): Hypothesis => ({
  ...{ firstWeight: 1, weight: 1, testFactor: 1 },
  wander: { growthSd: 0, leastDemand: 0.2, growthShare: 0, levelSd: 0 },
  branches: [
    {
      ...{ reading: 'plain', weight: 1 },
      belief: {
        mean: [level, demand, 0, 0],
        covariance: [variances.level, 0, 0, 0, 0, variances.demand, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0],
      },
    },
  ],
  ...more,
});
const test = (value: number, days = 1, more: { sd?: number; rounding?: number; risen?: number } = {}) => ({
  ...{ facts, value, sd: 0.1, rounding: 0, risen: 0, days },
  ...{ fromMs: midnight, toMs: midnight + days * dayMs },
  ...more,
});

/**
 * Bayes' rule with the stated chances: 4 % of tests are wrong, 0.2 % jumps, 0.2 % a day for a step of demand, at most 4 %; an
 * error of 1.2 dKH for a wrong test, 1.5 dKH for a jump, 35 % of the demand (or of 0.3 dKH a day) for a step.
 */
function byBayes(off: number, days: number, testVariance: number, demand = 0.5) {
  const expected = variances.level + days ** 2 * variances.demand + testVariance;
  const stepSd = 0.35 * Math.max(demand, 0.3);
  const step = Math.min(0.04, 0.002 * days);
  const each = {
    plain: (1 - 0.04 - 0.002 - step) * density(off, expected),
    outlier: 0.04 * density(off, expected + 1.2 ** 2),
    jump: 0.002 * density(off, expected + 1.5 ** 2),
    step: step * density(off, expected + (days * stepSd) ** 2),
  };
  const total = sum(Object.values(each));
  return Object.entries(each)
    .map(([reading, chance]) => ({ reading, weight: chance / total }))
    .filter(({ weight }) => weight >= 3e-4);
}

describe('what a test may mean', () => {
  it.each([
    ['as expected', 0, 1, 0.5],
    ['a little high', 0.4, 1, 0.5],
    ['far too low', -1.4, 1, 0.5],
    ['low after a fortnight', -3, 14, 0.5],
    ['low after a month, when a step is no likelier than after 20 days', -9, 30, 0.5],
    ['high in a tank that uses next to nothing', 0.9, 3, 0.05],
  ])('a test that comes out %s is read otherwise than Bayes reads it', (_, off, days, demand) => {
    const expected = 8 - demand * days;
    const weighed = weighTest([alone({}, 8, demand)], test(expected + off, days));
    const wanted = byBayes(off, days, 0.01, demand);
    const found = weighed.hypotheses[0]!.branches;
    expect(found.map(({ reading }) => reading)).toEqual(wanted.map(({ reading }) => reading));
    for (const [place, { weight }] of wanted.entries()) expect(found[place]!.weight).toBeCloseTo(weight, 9);
    expect(weighed.chancePlain).toBeCloseTo(wanted.find(({ reading }) => reading === 'plain')?.weight ?? 0, 3);
    // Nothing stood in doubt before.
    expect(weighed.chanceEarlierWasWrong).toBe(0);
  });

  it('a kit that is noisier than stated, a coarse scale or a dose in between is left out of what was expected', () => {
    const chanceOf = (hypothesis: Hypothesis, of: Parameters<typeof weighTest>[1]) =>
      weighTest([hypothesis], of).chancePlain;
    const plain = (off: number, testVariance: number) => byBayes(off, 1, testVariance)[0]!.weight;
    expect(chanceOf(alone(), test(8.1))).toBeCloseTo(plain(0.6, 0.01), 3);
    expect(chanceOf(alone({ testFactor: 3 }), test(8.1))).toBeCloseTo(plain(0.6, 0.09), 3);
    expect(chanceOf(alone(), test(8.1, 1, { sd: 0.2 }))).toBeCloseTo(plain(0.6, 0.04), 3);
    expect(chanceOf(alone(), test(8.1, 1, { rounding: 0.02 }))).toBeCloseTo(plain(0.6, 0.03), 3);
    expect(chanceOf(alone(), test(8.1, 1, { risen: 0.4 }))).toBeCloseTo(plain(0.2, 0.01), 3);
  });

  it('what each reading makes of the level is mixed up', () => {
    const weighed = weighTest([alone()], test(6.6));
    const levels = Object.fromEntries(
      weighed.hypotheses[0]!.branches.map(({ reading, belief }) => [reading, belief.mean.map((n) => n)]),
    );
    // By hand: expected 7.5 with variance 0.01 + 0.04; the test lies 0.9 below.
    const spread = 0.05;
    const moved = (variance: number) => 7.5 - (0.9 * spread) / (spread + variance);
    expect(levels['plain']![0]).toBeCloseTo(moved(0.01), 9);
    expect(levels['outlier']![0]).toBeCloseTo(moved(0.01 + 1.2 ** 2), 9);
    const jump = spread + 1.5 ** 2;
    expect(levels['jump']![0]).toBeCloseTo(7.5 - (0.9 * jump) / (jump + 0.01), 9);
    // A step moves the demand: its variance 0.04 + (0.35 × 0.5)², all of it in the level after a day.
    const demand = 0.04 + 0.175 ** 2;
    expect(levels['step']![1]).toBeCloseTo(0.5 + (0.9 * demand) / (0.01 + demand + 0.01), 9);
    // And of a plain test, what it says of the demand: 0.04 of the 0.06 lies with it.
    expect(levels['plain']![1]).toBeCloseTo(0.5 + (0.9 * 0.04) / 0.06, 9);
  });

  it('a test in the wrong unit drags the level with it', () => {
    const before = alone();
    const weighed = weighTest([before], test(145));
    const outlier = weighed.hypotheses[0]!.branches.find(({ reading }) => reading === 'outlier')!;
    expect(weighed.chancePlain).toBeLessThan(1e-6);
    // Nothing is learned from it: level and demand as before, a day later.
    expect(outlier.weight).toBeCloseTo(1, 6);
    expect(outlier.belief.mean).toEqual([7.5, 0.5, 0, 0]);
    // Wild is what even a very noisy test makes less likely than one in twenty over ten times 1.2 dKH: by hand from there,
    // the normal density of variance 1.5 falls to 0.005 / 1.2 at 4.46.
    const edge = Math.sqrt(-2 * 1.5 * Math.log((0.005 / 1.2) * Math.sqrt(2 * Math.PI * 1.5)));
    const levelAfter = (off: number) =>
      weighTest([before], test(7.5 + off)).hypotheses[0]!.branches.find(({ reading }) => reading === 'outlier')!.belief
        .mean[0]!;
    expect(levelAfter(edge - 0.01)).toBeGreaterThan(7.6);
    expect(levelAfter(edge + 0.01)).toBe(7.5);
    // Beside a jump of the water, which stays possible: 0.04 of 0.005 / 1.2 against 0.002 of a normal density of variance 2.31.
    const wild = weighTest([before], test(7.5 + 5)).hypotheses[0]!.branches.find(
      ({ reading }) => reading === 'outlier',
    )!;
    const [outlying, jumped] = [(0.04 * 0.005) / 1.2, 0.002 * density(5, 0.05 + 0.01 + 2.25)];
    expect(wild.weight).toBeCloseTo(outlying / (outlying + jumped), 6);
  });

  it('two wrong tests one after the other, or a slip and then a good test, are not told apart', () => {
    const slip = weighTest([alone()], test(6)).hypotheses;
    const outlierBefore = slip[0]!.branches.find(({ reading }) => reading === 'outlier')!.weight;
    expect(outlierBefore).toBeGreaterThan(0.5);
    const good = weighTest(slip, { ...test(7, 1), fromMs: midnight + dayMs, toMs: midnight + 2 * dayMs });
    expect(good.chanceEarlierWasWrong).toBeGreaterThan(0.95);
    const again = weighTest(slip, { ...test(5.5, 1), fromMs: midnight + dayMs, toMs: midnight + 2 * dayMs });
    expect(again.chanceEarlierWasWrong).toBeLessThan(0.5);
    expect(good.chanceEarlierWasWrong).toBeLessThanOrEqual(1);
    for (const { hypotheses } of [good, again])
      expect(sum(hypotheses[0]!.branches.map(({ weight }) => weight))).toBeCloseTo(1, 2);
  });
});

describe('which kit and which corals these tests speak for', () => {
  const fine = alone({ firstWeight: 0.7, weight: 0.4, testFactor: 0.5 });
  const coarse = alone({ firstWeight: 0.3, weight: 0.6, testFactor: 3 });

  it('a kit that scatters is still believed to be fine', () => {
    const off = 0.8;
    const likelihood = (variance: number) => {
      const expected = 0.05 + variance;
      return (
        0.956 * density(off, expected) +
        0.04 * density(off, expected + 1.44) +
        0.002 * density(off, expected + 2.25) +
        0.002 * density(off, expected + 0.175 ** 2)
      );
    };
    const shares = [0.4 * likelihood(0.0025), 0.6 * likelihood(0.09)];
    const weights = weighTest([fine, coarse], test(7.5 + off)).hypotheses.map(({ weight }) => weight);
    // 0.3 % of the weight leans back to what was believed at first, so that a new kit is learned.
    for (const [place, first] of [0.7, 0.3].entries())
      expect(weights[place]).toBeCloseTo((0.997 * shares[place]!) / sum(shares) + 0.003 * first, 9);
  });

  it('a choice that this test rules out is forgotten for good, or keeps a belief of another time', () => {
    // Beside a belief that is right, one that is 60 dKH off weighs next to nothing; it is carried on all the same.
    const wrong = alone({ firstWeight: 0.5, weight: 0.5 }, 68);
    const right = alone({ firstWeight: 0.5, weight: 0.5 });
    const [, lost] = weighTest([right, wrong], test(7.5)).hypotheses;
    // Nearly all that is left of its weight is what leans back to it.
    expect(lost!.weight).toBeGreaterThan(0.003 * 0.5);
    expect(lost!.weight).toBeLessThan(0.003 * 0.5 + 2e-4);
    expect(lost!.branches.map(({ reading }) => reading)).toEqual(['outlier']);
    expect(lost!.branches[0]!.belief.mean[0]).toBeCloseTo(67.5, 1);
  });
});

describe('what is believed before the first test is repeated', () => {
  it.each([true, false])('adds up to other than one, or is other than stated (sd stated: %s)', (isStated) => {
    const bank = firstHypotheses(facts, {
      ...{ value: 8.3, sd: 0.2, rounding: 0.01, isStated },
      demand: firstDemandOf(facts, 0),
    });
    expect(sum(bank.map(({ weight }) => weight))).toBeCloseTo(1, 9);
    expect(bank).toHaveLength(7 * 10);
    for (const { firstWeight, weight, testFactor, branches, wander } of bank) {
      expect(weight).toBe(firstWeight);
      expect(branches.map(({ reading }) => reading)).toEqual(['plain']);
      // By the stated facts: demand 1 ± 2 dKH a day, a day cycle of 0 ± 0.45 at no known hour.
      const { mean, covariance } = branches[0]!.belief;
      expect(mean).toEqual([8.3, 1, 0, 0]);
      const wanted = new Array<number>(16).fill(0).with(5, 4).with(10, 0.2025).with(15, 0.2025);
      for (const [place, entry] of wanted.with(0, (testFactor * 0.2) ** 2 + 0.01).entries())
        expect(covariance[place]).toBeCloseTo(entry, 12);
      expect(wander).toMatchObject({ levelSd: 0.005, leastDemand: 0.2 });
    }
    const shareOf = (of: (hypothesis: Hypothesis) => boolean) => sum(bank.filter(of).map(({ weight }) => weight));
    // A stated sd is most likely right; a guessed one is as likely off by a half as right.
    expect(shareOf(({ testFactor }) => testFactor === 1)).toBeCloseTo(isStated ? 0.5 : 0.2, 9);
    expect(shareOf(({ testFactor }) => testFactor > 1)).toBeCloseTo(isStated ? 0.3 : 0.37, 9);
    expect(shareOf(({ wander }) => wander.growthShare > 0)).toBeCloseTo(0.12, 9);
  });

  it('a step of the demand for calcium is measured by that for alkalinity', () => {
    // By hand: 0.35 × 0.3 × 7 mg/L a day in a tank that uses 1; variances 0.01 + 0.04 + 64 of the kit, 1600 and 625 more.
    const calcium = demandFacts.calcium;
    const weighed = weighTest([alone({}, 420, 1)], { ...test(420 - 1, 1, { sd: 8 }), facts: calcium });
    const densities = [0, 1600, 625, 0.735 ** 2].map((more) => density(0, 64.05 + more));
    const shares = [0.956, 0.04, 0.002, 0.002].map((chance, n) => chance * densities[n]!);
    expect(weighed.chancePlain).toBeCloseTo(shares[0]! / sum(shares), 6);
    const far = weighTest([alone({}, 420, 1)], { ...test(420 - 6, 1, { sd: 0.01 }), facts: calcium });
    const farDensities = [0, 1600, 625, 0.735 ** 2].map((more) => density(5, 0.0501 + more));
    const farShares = [0.956, 0.04, 0.002, 0.002].map((chance, n) => chance * farDensities[n]!);
    const step = far.hypotheses[0]!.branches.find(({ reading }) => reading === 'step');
    expect(step?.weight ?? 0).toBeCloseTo(farShares[3]! / sum(farShares), 6);
  });

  it('two readings of one test count alike in the summary', () => {
    const [branch] = alone().branches;
    const moved = {
      ...branch!,
      reading: 'jump' as const,
      weight: 0.25,
      belief: { ...branch!.belief, mean: [9, 0.9, 0, 0] },
    };
    const read = overallBelief([alone({ branches: [{ ...branch!, weight: 0.75 }, moved] })]);
    expect(read.level).toBeCloseTo(8.25, 9);
    expect(read.demand).toBeCloseTo(0.6, 9);
  });

  it('a summary of the bank is not the weighted mean of what it holds', () => {
    const wander = { growthSd: 0.1, leastDemand: 0.2, growthShare: 0.02, levelSd: 0 };
    const slow = alone({ weight: 0.6, testFactor: 1 });
    const fast = alone({ weight: 0.2, testFactor: 2, wander }, 9, 0.9);
    const read = overallBelief([slow, fast]);
    // By hand, weights 3 to 1: level 8.25, demand 0.6; law of total variance 0.01 + 3/16 and 0.04 + 3/16 × 0.4²; 3/16 × 0.4.
    expect(read.level).toBeCloseTo(8.25, 9);
    expect(read.demand).toBeCloseTo(0.6, 9);
    expect(read.levelVariance).toBeCloseTo(0.01 + 3 / 16, 9);
    expect(read.demandVariance).toBeCloseTo(0.04 + (3 / 16) * 0.16, 9);
    expect(read.covariance).toBeCloseTo((3 / 16) * 0.4, 9);
    expect(read.testFactorSquared).toBeCloseTo(1.75, 9);
    expect(read.growthShare).toBeCloseTo(0.005, 9);
    expect(read.growthShareVariance).toBeCloseTo((3 / 16) * 0.0004, 12);
    expect(read.growthVariance).toBeCloseTo(0.25 * (0.1 * 0.6) ** 2, 12);
    // A demand next to nothing wanders as if it were the least one.
    const idle = overallBelief([alone({ wander }, 8, 0.01)]);
    expect(idle.growthVariance).toBeCloseTo((0.1 * 0.2) ** 2, 12);
  });
});
