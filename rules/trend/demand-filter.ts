import { dayMs } from '../clock/durations.ts';
import { OutOfRange, within } from '../quantity/out-of-range.ts';
import { type DemandAnalyte, type DemandFacts, demandFacts } from './demand-facts.ts';
import { firstDemandOf, firstHypotheses, type Hypothesis, overallBelief, weighTest } from './demand-hypotheses.ts';
import { carriedOn, loosened, mixed } from './demand-model.ts';

export type DemandOptions = {
  analyte: DemandAnalyte;
  /** Standard deviation of a test that does not state its own; the usual one of a kit when absent. */
  usualTestSd?: number;
  /** Smallest step of the kit's scale (rounding), in the analyte's unit. */
  resolution?: number;
  /** With fewer hypotheses: for many runs over one diary, which are compared with each other. */
  isCoarse?: boolean;
};

export type DemandEvidence =
  /**
   * A test of the level; `sd` its stated standard deviation. `plannedPerDay`: what the plan gave a day when it was made. With the first
   * test it is all that is known of the demand, for a plan has been found by somebody; later ones do not use it.
   * `isBelow`: the kit showed nothing, which says less than `value` and no more.
   */
  | { is: 'test'; value: number; sd?: number; plannedPerDay?: number; isBelow?: boolean }
  /** A dose, as the rise of the level that it makes in the whole system. */
  /** `isPlanned`: one of the portions in which a dosing that runs all day is counted. */
  | { is: 'dose'; rise: number; isPlanned?: boolean }
  /** `newLevel` absent: the new water was not tested. */
  | { is: 'water_change'; share: number; newLevel?: number }
  /** An arrival or another big change was logged: the demand may have stepped. */
  | { is: 'step_expected' };

/** Plain data: can be stored, restored and replayed. */
export type DemandState = {
  options: DemandOptions;
  /** Time of the beliefs, UTC ms; absent before the first test. */
  timeMs?: number;
  /** Sum of the doses since `timeMs`, and the latest of their times. */
  risenSince: number;
  latestMs?: number;
  testsUsed: number;
  /** Logarithm of the density of all tests after the first, each before it was seen. */
  logEvidence: number;
  hypotheses: Hypothesis[];
  /** How the last test was read, and what became of the suspect before it. */
  lastTest?: TestVerdict;
};

export type TestVerdict = {
  timeMs: number;
  value: number;
  /** Chance from 0 to 1 that the test is a plain one: neither outlying nor the first sign of a change. */
  chancePlain: number;
  isSuspect: boolean;
  /** Whether this test confirmed or refuted the suspect one before it. */
  earlierSuspect?: { timeMs: number; value: number; verdict: 'confirmed' | 'refuted' };
  /** Test minus what was expected of it, and the standard deviation of that. */
  innovation: number;
  innovationSd: number;
};

export type DemandEstimate = {
  timeMs: number;
  /** At that time of day, in the analyte's unit. */
  level: number;
  levelSd: number;
  /** Loss of a whole day, unit a day. Below 0 when the level rises by something nobody logged. */
  demandPerDay: number;
  demandSd: number;
  /** Covariance of level and demand. */
  levelDemandCovariance: number;
  /** True while the last test stands alone against what was known: held until the next test decides. */
  suspect: boolean;
  /** What the tests say the kit's standard deviation really is. */
  learnedTestSd: number;
  /** Random growth of demand that the tests point to, unit a day for each square root of a day. */
  learnedGrowthSd: number;
  /** Steady growth of the demand that the tests point to, share a day, and its standard deviation. Absent: none. */
  growthShare?: number;
  growthShareSd?: number;
  testsUsed: number;
};

/** A demand filter that has seen nothing yet. */
export function startDemand(options: DemandOptions): DemandState {
  return { options, risenSince: 0, testsUsed: 0, logEvidence: 0, hypotheses: [] };
}

/**
 * The next state of the demand filter: a bank of Kalman filters, one for each hypothesis of how noisy the kit is and how
 * fast the demand wanders, weighted by how well each foresaw the tests. What cannot be told at once (is this test wrong,
 * or did the water change?) is carried as two beliefs until the next test decides.
 *
 * @param evidence  oldest first; a test before the dose of the same minute
 * @param timeMs  of the evidence, UTC ms, not before the evidence before
 * @throws OutOfRange  for a time that runs backwards, a value that is not finite, a share outside 0 to 1, an sd of 0 or less
 */
export function stepDemand(state: DemandState, evidence: DemandEvidence, timeMs: number): DemandState {
  const latestMs = state.latestMs ?? timeMs;
  if (!(timeMs >= latestMs)) throw new OutOfRange('time of the evidence', timeMs, `${latestMs} or later`);
  const next = { ...state, latestMs: timeMs };
  const facts = demandFacts[state.options.analyte];
  if (evidence.is === 'test') return afterTest(next, facts, evidence, timeMs);
  // Before the first test nothing is known of the level, so what moves it tells nothing.
  if (state.timeMs === undefined) return next;
  if (evidence.is === 'dose') {
    return { ...next, risenSince: state.risenSince + within('rise by the dose', evidence.rise, -1e4, 1e4) };
  }
  const current = carriedTo(next, timeMs);
  if (evidence.is === 'water_change') {
    const share = within('share of the water changed', evidence.share, 0, 1);
    const newLevel = evidence.newLevel ?? facts.newWater.level;
    const newLevelSd = evidence.newLevel === undefined ? facts.newWater.sd : facts.usualTestSd / 4;
    return eachBelief(current, (belief) => mixed(belief, share, newLevel, newLevelSd));
  }
  return eachBelief(current, (belief) => loosened(belief, 1, expectedStepVariance(facts, belief.mean[1]!)));
}

/** Variance of the step that an arrival may bring: corals added are usually a fraction of those there. */
function expectedStepVariance(facts: DemandFacts, demand: number): number {
  const step = 0.3 * Math.max(demand, 0.3 * facts.firstDemand);
  return step * step;
}

function afterTest(
  state: DemandState,
  facts: DemandFacts,
  { value, sd: statedSd, plannedPerDay = 0, isBelow = false }: DemandEvidence & { is: 'test' },
  timeMs: number,
): DemandState {
  within('value of the test', value, -1e5, 1e5);
  if (statedSd !== undefined) within('sd of the test', statedSd, Number.MIN_VALUE, 1e5);
  const sd = statedSd ?? state.options.usualTestSd ?? facts.usualTestSd;
  const rounding = (state.options.resolution ?? 0) ** 2 / 12;
  if (state.timeMs === undefined) {
    const isStated = (statedSd ?? state.options.usualTestSd) !== undefined;
    const lastTest: TestVerdict = {
      timeMs,
      value,
      chancePlain: 1,
      isSuspect: false,
      innovation: 0,
      innovationSd: facts.outlierSd,
    };
    const demand = firstDemandOf(facts, plannedPerDay);
    const hypotheses = firstHypotheses(facts, {
      value,
      sd,
      rounding,
      isStated,
      demand,
      isBelow,
      isCoarse: state.options.isCoarse ?? false,
    });
    return { ...state, timeMs, hypotheses, testsUsed: 1, lastTest };
  }
  const before = overallBelief(carriedTo(state, timeMs).hypotheses);
  const days = (timeMs - state.timeMs) / dayMs;
  const weighed = weighTest(state.hypotheses, {
    facts,
    value,
    sd,
    rounding,
    days,
    isBelow,
    fromMs: state.timeMs,
    toMs: timeMs,
    risen: state.risenSince,
  });
  const lastTest: TestVerdict = {
    timeMs,
    value,
    chancePlain: weighed.chancePlain,
    isSuspect: weighed.chancePlain < 0.5,
    // Below its limit a test says nothing against any level there.
    innovation: isBelow ? Math.min(0, value - before.level) : value - before.level,
    innovationSd: Math.sqrt(before.levelVariance + before.testFactorSquared * sd * sd + rounding),
  };
  const earlier = state.lastTest;
  if (earlier?.isSuspect) {
    const verdict = weighed.chanceEarlierWasWrong > 0.5 ? 'refuted' : 'confirmed';
    lastTest.earlierSuspect = { timeMs: earlier.timeMs, value: earlier.value, verdict };
  }
  return {
    ...state,
    timeMs,
    risenSince: 0,
    lastTest,
    testsUsed: state.testsUsed + 1,
    logEvidence: state.logEvidence + weighed.logDensity,
    hypotheses: weighed.hypotheses,
  };
}

/** The state with every belief carried to a time, doses included. */
function carriedTo(state: DemandState, timeMs: number): DemandState {
  const fromMs = state.timeMs!;
  const carried = eachBelief(state, (belief, hypothesis) => {
    const { mean, covariance } = carriedOn(belief, fromMs, timeMs, hypothesis.wander);
    return { mean: [mean[0]! + state.risenSince, ...mean.slice(1)], covariance };
  });
  return { ...carried, timeMs, risenSince: 0 };
}

type Belief = Hypothesis['branches'][number]['belief'];

function eachBelief(state: DemandState, change: (belief: Belief, hypothesis: Hypothesis) => Belief): DemandState {
  const hypotheses = state.hypotheses.map((hypothesis) => ({
    ...hypothesis,
    branches: hypothesis.branches.map((branch) => ({ ...branch, belief: change(branch.belief, hypothesis) })),
  }));
  return { ...state, hypotheses };
}

/**
 * What the filter holds of level and demand at a time: the mean and standard deviation over all hypotheses.
 *
 * @param timeMs  UTC ms; a time before the latest evidence gives the estimate at that evidence
 * @returns undefined before the first test
 */
export function demandEstimate(state: DemandState, timeMs: number): DemandEstimate | undefined {
  if (state.timeMs === undefined) return undefined;
  const atMs = Math.max(timeMs, state.latestMs ?? state.timeMs);
  const read = overallBelief(carriedTo(state, atMs).hypotheses);
  const usualSd = state.options.usualTestSd ?? demandFacts[state.options.analyte].usualTestSd;
  return {
    timeMs: atMs,
    level: demandFacts[state.options.analyte].detectionLimit === undefined ? read.level : Math.max(0, read.level),
    levelSd: Math.sqrt(read.levelVariance),
    demandPerDay: read.demand,
    demandSd: Math.sqrt(read.demandVariance),
    levelDemandCovariance: read.covariance,
    suspect: state.lastTest?.isSuspect ?? false,
    learnedTestSd: usualSd * Math.sqrt(read.testFactorSquared),
    learnedGrowthSd: Math.sqrt(read.growthVariance),
    growthShare: read.growthShare,
    growthShareSd: Math.sqrt(read.growthShareVariance),
    testsUsed: state.testsUsed,
  };
}
