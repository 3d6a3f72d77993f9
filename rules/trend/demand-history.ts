import { dayMs } from '../clock/durations.ts';
import { defined } from '../plain-data/defined.ts';
import { demandFacts } from './demand-facts.ts';
import {
  type DemandEvidence,
  type DemandOptions,
  type DemandState,
  startDemand,
  stepDemand,
  type TestVerdict,
} from './demand-filter.ts';
import { type HistoryPoint, logDensityUnder, type PastContext, type PastHypothesis, pastUnder } from './demand-past.ts';
import { isSteady, steadyRise } from './steady-doses.ts';

export type { HistoryPoint };

type Evidence = { timeMs: number; evidence: DemandEvidence };

/** A way in which the demand may wander that is less likely than this share of the likeliest would cost time and change nothing. */
const leastShare = 0.05;

/**
 * The whole past as it looks from today: every test speaks for the days before it as well as for those after it. The mean
 * over the ways in which the demand may wander, each by how well it foresaw all tests, with the kit noise that the demand
 * filter has learned. For plots and the weekly review; decisions use the demand filter, which knows only the past.
 *
 * A plan lifts the curve evenly, and so do doses too small to see: a pump is no saw.
 *
 * @param evidence  oldest first, one system and analyte
 * @param everyMs  a point at least this often from the first test to the last entry, or to `untilMs`, besides one at each test,
 *   and one before and one after each dose by hand and water change: of a sawtooth the peaks alone stand above the water
 * @returns oldest first; empty without a test
 */
export function demandHistory(
  evidence: readonly Evidence[],
  options: DemandOptions,
  everyMs = dayMs / 4,
  untilMs?: number,
): HistoryPoint[] {
  const { state, rest, context } = followedWhole(evidence, options);
  const likely = likelyHypotheses(state, rest, context);
  const pasts = likely.map(({ hypothesis }) => pastUnder(hypothesis, rest, context, { everyMs, untilMs }));
  const weights = likely.map(({ weight }) => weight);
  return (pasts[0] ?? []).map(({ test }, at) => ({
    ...mixedPoint(
      pasts.map((past) => past[at]!),
      weights,
    ),
    ...defined({ test }),
  }));
}

/** A whole diary as the demand filter took it: its last state, the evidence without steady doses, and what is known beside that. */
export function followedWhole(
  evidence: readonly Evidence[],
  options: DemandOptions,
): { state: DemandState; rest: Evidence[]; context: PastContext } {
  const { usualTestSd } = demandFacts[options.analyte];
  const steadyDoses = evidence.filter((entry) => isSteady(entry, usualTestSd));
  const rest = evidence.filter((entry) => !isSteady(entry, usualTestSd));
  const placeOf = new Map(rest.map((entry, place) => [entry, place]));
  let state = startDemand(options);
  const verdicts = new Map<number, TestVerdict>();
  for (const entry of evidence) {
    state = stepDemand(state, entry.evidence, entry.timeMs);
    const place = placeOf.get(entry);
    if (place !== undefined && entry.evidence.is === 'test' && state.lastTest) verdicts.set(place, state.lastTest);
  }
  const context = { options, fates: fatesOf(verdicts), steady: steadyRise(steadyDoses) };
  return { state, rest, context };
}

/** One hypothesis for each way of wandering, with weights that add up to 1; none before the first test. */
function likelyHypotheses(
  { hypotheses }: DemandState,
  evidence: readonly Evidence[],
  context: PastContext,
): { hypothesis: PastHypothesis; weight: number }[] {
  const total = hypotheses.reduce((sum, { weight }) => sum + weight, 0);
  const testFactor = Math.sqrt(hypotheses.reduce((sum, each) => sum + each.weight * each.testFactor ** 2, 0) / total);
  const judged = hypotheses
    .filter((each) => each.testFactor === hypotheses[0]!.testFactor)
    .map(({ firstWeight, wander }) => {
      const hypothesis = { testFactor, wander };
      return { hypothesis, log: Math.log(firstWeight) + logDensityUnder(hypothesis, evidence, context) };
    });
  // The largest logarithm is taken out before the exponentials, so that not all of them vanish.
  const largest = Math.max(...judged.map(({ log }) => log));
  const likely = judged
    .map(({ hypothesis, log }) => ({ hypothesis, weight: Math.exp(log - largest) }))
    .filter(({ weight }) => weight >= leastShare);
  const sum = likely.reduce((all, { weight }) => all + weight, 0);
  return likely.map(({ hypothesis, weight }) => ({ hypothesis, weight: weight / sum }));
}

/** Mean and standard deviation of a mixture; the points are of one moment. */
function mixedPoint(points: readonly HistoryPoint[], weights: readonly number[]): HistoryPoint {
  const mean = (of: (point: HistoryPoint) => number): number =>
    points.reduce((sum, point, at) => sum + weights[at]! * of(point), 0);
  const level = mean((point) => point.level);
  const demandPerDay = mean((point) => point.demandPerDay);
  return {
    timeMs: points[0]!.timeMs,
    level,
    demandPerDay,
    levelSd: Math.sqrt(mean((point) => point.levelSd ** 2 + (point.level - level) ** 2)),
    demandSd: Math.sqrt(mean((point) => point.demandSd ** 2 + (point.demandPerDay - demandPerDay) ** 2)),
  };
}

/** What became of each test in the end; a suspect at the very end counts as refuted until a test confirms it. */
function fatesOf(verdicts: ReadonlyMap<number, TestVerdict>): Map<number, 'confirmed' | 'refuted'> {
  const fates = new Map<number, 'confirmed' | 'refuted'>();
  let suspectIndex: number | undefined;
  for (const [index, verdict] of verdicts) {
    if (suspectIndex !== undefined && verdict.earlierSuspect) fates.set(suspectIndex, verdict.earlierSuspect.verdict);
    suspectIndex = verdict.isSuspect ? index : undefined;
    if (verdict.isSuspect) fates.set(index, 'refuted');
  }
  return fates;
}
