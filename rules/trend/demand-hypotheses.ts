import { testedBelow } from './censored-test.ts';
import type { DemandFacts } from './demand-facts.ts';
import { type Belief, carriedOn, loosened, merged, tested, type Wander } from './demand-model.ts';

/**
 * How the latest test was read. `plain`: the water went on as before and the kit was as good as usual. `outlier`: the test
 * says nothing. `jump`: the level really moved by something unlogged. `step`: the demand changed since the test before.
 */
const readings = ['plain', 'outlier', 'jump', 'step'] as const;
type TestReading = (typeof readings)[number];

/** One belief for each way of reading the latest test, with its share of the hypothesis. */
type Branch = { reading: TestReading; weight: number; belief: Belief };

/** One choice of kit noise and wandering, its weight among all, and what it believes. Weights of branches add up to 1. */
export type Hypothesis = {
  /** Weight before any test, and now. Both add up to 1 over all hypotheses. */
  firstWeight: number;
  weight: number;
  /** True standard deviation of a test as a multiple of the stated one. */
  testFactor: number;
  wander: Wander;
  branches: Branch[];
};

/** Multiples of the stated standard deviation of a test, and how likely each is when the kit's sd is stated or guessed. */
const testFactors = [0.35, 0.5, 0.7, 1, 1.4, 2, 3];
const factorWeights = {
  stated: [0.02, 0.05, 0.13, 0.5, 0.18, 0.08, 0.04],
  guessed: [0.1, 0.15, 0.18, 0.2, 0.17, 0.12, 0.08],
};
/** Those of the two lists that are left where the filter is run many times over one diary: a sixth of the work. */
const coarseFactors: readonly number[] = [0.5, 1, 2];
const coarseGrowths: readonly string[] = ['0.0015 0', '0.02 0', '0.05 0', '0.012 0.01'];
/**
 * How the demand may wander: random growth as a share of it for each square root of a day, steady growth as a share a day,
 * and how likely each pair is. Most systems change slowly; young colonies well fed double in a month or two, and steadily.
 */
const wanders: readonly (readonly [growthSd: number, growthShare: number, weight: number])[] = [
  [0.0015, 0, 0.13],
  [0.006, 0, 0.22],
  [0.02, 0, 0.23],
  [0.05, 0, 0.18],
  [0.12, 0, 0.12],
  [0.004, 0.005, 0.03],
  [0.004, 0.01, 0.02],
  [0.012, 0.01, 0.04],
  [0.004, 0.02, 0.02],
  [0.004, 0.03, 0.01],
];

/** Chances before a test is seen. @source common practice, no published source */
const chanceOutlier = 0.04;
const chanceJump = 0.002;
const chanceStepPerDay = 0.002;
const mostChanceStep = 0.04;
/** Log density of a wild test, for outlierSd 1: a twentieth of all wrong tests, spread over some ten times outlierSd. */
const wildLogDensity = Math.log(0.05 / 10);
/** Each test the weights lean back to the first ones by this share, so that a changed kit or keeper is learned again. */
const forgetting = 0.003;
/** Light cycle before anything is known: by day about twice the mean, by night little, at unknown hours. */
export const firstCycleSd = 0.45;

/** Demand before two tests tell of it, unit a day, with its standard deviation: what the plan gives where there is one. */
export function firstDemandOf(facts: DemandFacts, plannedPerDay: number): { mean: number; sd: number } {
  if (!(plannedPerDay > 0)) return { mean: facts.firstDemand, sd: facts.firstDemandSd };
  return { mean: plannedPerDay, sd: Math.max(facts.firstDemandSd / 5, plannedPerDay / 2) };
}

type FirstTest = {
  value: number;
  sd: number;
  rounding: number;
  isStated: boolean;
  demand: { mean: number; sd: number };
  isCoarse?: boolean;
  /** The level is anywhere from 0 to `value`. */
  isBelow?: boolean;
};

/** The bank of hypotheses after the first test of a system. */
export function firstHypotheses(
  facts: DemandFacts,
  { value, sd, rounding, isStated, demand, isCoarse = false, isBelow = false }: FirstTest,
): Hypothesis[] {
  const weights = isStated ? factorWeights.stated : factorWeights.guessed;
  const isUsed = (factor: number, growth: string): boolean =>
    !isCoarse || (coarseFactors.includes(factor) && coarseGrowths.includes(growth));
  const all = testFactors.flatMap((testFactor, i) =>
    wanders.flatMap(([growthSd, growthShare, wanderWeight]) => {
      if (!isUsed(testFactor, `${growthSd} ${growthShare}`)) return [];
      const weight = weights[i]! * wanderWeight;
      const covariance = new Array<number>(16).fill(0);
      // Evenly spread from 0 to a limit: its half, and a twelfth of its square.
      covariance[0] = (testFactor * sd) ** 2 + rounding + (isBelow ? value ** 2 / 12 : 0);
      covariance[5] = demand.sd ** 2;
      covariance[10] = firstCycleSd ** 2;
      covariance[15] = firstCycleSd ** 2;
      const belief = { mean: [isBelow ? value / 2 : value, demand.mean, 0, 0], covariance };
      const wander = { growthSd, growthShare, levelSd: facts.levelSd, leastDemand: facts.leastDemand };
      const branches: Branch[] = [{ reading: 'plain', weight: 1, belief }];
      return [{ firstWeight: weight, weight, testFactor, wander, branches }];
    }),
  );
  const sum = all.reduce((total, { weight }) => total + weight, 0);
  return isCoarse ? all.map((each) => ({ ...each, firstWeight: each.weight / sum, weight: each.weight / sum })) : all;
}

type NewTest = {
  facts: DemandFacts;
  value: number;
  sd: number;
  rounding: number;
  days: number;
  fromMs: number;
  toMs: number;
  /** Sum of the doses between. */
  risen: number;
  /** It showed less than `value`. */
  isBelow?: boolean;
};

type Weighed = {
  hypotheses: Hypothesis[];
  chancePlain: number;
  /** Chance that the test before this one was an outlier, now that this one is known. */
  chanceEarlierWasWrong: number;
  /** Logarithm of the density of this test, before it was seen. */
  logDensity: number;
};

/**
 * Carries every belief to the test and weighs it under each reading of the test; branches that read the latest test alike
 * are merged, so that the number of branches stays.
 *
 * @source Blom & Bar-Shalom 1988 and Ackerson & Fu 1970 for such banks of merged Kalman filters (cited from memory)
 */
export function weighTest(hypotheses: readonly Hypothesis[], test: NewTest): Weighed {
  let plain = 0;
  let earlierWrong = 0;
  let total = 0;
  let largest = Number.NEGATIVE_INFINITY;
  const candidates = hypotheses.map((hypothesis) => {
    const after = hypothesis.branches.flatMap((branch) => readTest(branch, hypothesis, test));
    const logOfHypothesis = Math.log(hypothesis.weight);
    for (const candidate of after) {
      candidate.logWeight += logOfHypothesis;
      largest = Math.max(largest, candidate.logWeight);
    }
    return { hypothesis, after };
  });
  // The largest logarithm is taken out before the exponentials: a wild test must not make all weights vanish. No choice vanishes
  // beside another either: its first weight leans back into it, and a test that is called wild is never less likely than that.
  const next = candidates.map(({ hypothesis, after }) => {
    let weight = 0;
    for (const candidate of after) {
      candidate.weight = Math.exp(candidate.logWeight - largest);
      weight += candidate.weight;
      if (candidate.reading === 'plain') plain += candidate.weight;
      if (candidate.earlier === 'outlier') earlierWrong += candidate.weight;
    }
    total += weight;
    return { ...hypothesis, weight, branches: mergedByReading(after, weight) };
  });
  return {
    hypotheses: next.map((hypothesis) => ({
      ...hypothesis,
      weight: (1 - forgetting) * (hypothesis.weight / total) + forgetting * hypothesis.firstWeight,
    })),
    chancePlain: plain / total,
    chanceEarlierWasWrong: earlierWrong / total,
    logDensity: largest + Math.log(total),
  };
}

type Candidate = {
  reading: TestReading;
  earlier: TestReading;
  belief: Belief;
  logWeight: number;
  /** Relative to the likeliest candidate of all; 0 until all are known. */
  weight: number;
};

function readTest(branch: Branch, hypothesis: Hypothesis, test: NewTest): Candidate[] {
  const { facts, value } = test;
  const read = test.isBelow === true ? testedBelow : tested;
  const variance = (hypothesis.testFactor * test.sd) ** 2 + test.rounding;
  const before = branch.belief;
  const asBefore = arrived(before, hypothesis, test);
  const stepSd = 0.35 * Math.max(before.mean[1]!, 0.3 * facts.firstDemand);
  const chanceStep = Math.min(mostChanceStep, chanceStepPerDay * test.days);
  const candidates: Candidate[] = [];
  const add = (reading: TestReading, chance: number, belief: Belief, logDensity: number): void => {
    const logWeight = Math.log(branch.weight * chance) + logDensity;
    candidates.push({ reading, earlier: branch.reading, belief, logWeight, weight: 0 });
  };
  const addTested = (reading: TestReading, chance: number, expected: Belief): void => {
    const { belief, logDensity } = read(expected, value, variance);
    add(reading, chance, belief, logDensity);
  };
  addTested('plain', 1 - chanceOutlier - chanceJump - chanceStep, asBefore);
  // A wrong test is a very noisy one; one so wild that even this cannot hold it (a wrong unit) says nothing at all.
  const noisy = read(asBefore, value, variance + facts.outlierSd ** 2);
  const isWild = noisy.logDensity < wildLogDensity - Math.log(facts.outlierSd);
  if (isWild) add('outlier', chanceOutlier, asBefore, wildLogDensity - Math.log(facts.outlierSd));
  else add('outlier', chanceOutlier, noisy.belief, noisy.logDensity);
  addTested('jump', chanceJump, loosened(asBefore, 0, facts.jumpSd ** 2));
  addTested('step', chanceStep, arrived(loosened(before, 1, stepSd * stepSd), hypothesis, test));
  return candidates;
}

/** The belief carried to the test, doses included. */
function arrived(before: Belief, { wander }: Hypothesis, { fromMs, toMs, risen }: NewTest): Belief {
  const { mean, covariance } = carriedOn(before, fromMs, toMs, wander);
  return { mean: [mean[0]! + risen, mean[1]!, mean[2]!, mean[3]!], covariance };
}

/** Branches of one hypothesis lighter than this share are left out: they would cost time and change nothing. */
const lightestBranch = 3e-4;

function mergedByReading(candidates: readonly Candidate[], total: number): Branch[] {
  return readings.flatMap((reading) => {
    const alike = candidates.filter((candidate) => candidate.reading === reading);
    const weight = alike.reduce((sum, candidate) => sum + candidate.weight, 0) / total;
    return weight < lightestBranch ? [] : [{ reading, weight, belief: merged(alike) }];
  });
}

type OverallBelief = {
  level: number;
  levelVariance: number;
  demand: number;
  demandVariance: number;
  covariance: number;
  testFactorSquared: number;
  growthVariance: number;
  /** Steady growth, share a day: mean and variance over the hypotheses. */
  growthShare: number;
  growthShareVariance: number;
};

/** Mean and spread over all hypotheses and branches. */
export function overallBelief(hypotheses: readonly Hypothesis[]): OverallBelief {
  const parts = hypotheses.flatMap((hypothesis) =>
    hypothesis.branches.map((branch) => ({ weight: hypothesis.weight * branch.weight, belief: branch.belief })),
  );
  const whole = merged(parts);
  const total = hypotheses.reduce((sum, hypothesis) => sum + hypothesis.weight, 0);
  const average = (of: (hypothesis: Hypothesis) => number): number =>
    hypotheses.reduce((sum, hypothesis) => sum + hypothesis.weight * of(hypothesis), 0) / total;
  const growthShare = average(({ wander }) => wander.growthShare);
  return {
    growthShare,
    growthShareVariance: average(({ wander }) => (wander.growthShare - growthShare) ** 2),
    level: whole.mean[0]!,
    levelVariance: whole.covariance[0]!,
    demand: whole.mean[1]!,
    demandVariance: whole.covariance[5]!,
    covariance: whole.covariance[1]!,
    testFactorSquared: average((hypothesis) => hypothesis.testFactor ** 2),
    growthVariance: average(({ wander }) => (wander.growthSd * Math.max(wander.leastDemand, whole.mean[1]!)) ** 2),
  };
}
