import { defined } from '../plain-data/defined.ts';
import { testedBelow } from './censored-test.ts';
import { demandFacts } from './demand-facts.ts';
import type { DemandEvidence, DemandOptions } from './demand-filter.ts';
import { firstCycleSd, firstDemandOf } from './demand-hypotheses.ts';
import { type Belief, carriedOn, carryingSlopes, loosened, mixed, tested, type Wander } from './demand-model.ts';
import { inverse, type Matrix4, product, sandwich, transposed } from './matrix4.ts';

export type HistoryPoint = {
  timeMs: number;
  level: number;
  levelSd: number;
  demandPerDay: number;
  demandSd: number;
  /** The test at this time and whether it was used; absent between tests. */
  test?: { value: number; isUsed: boolean };
};

type Evidence = { timeMs: number; evidence: DemandEvidence };
type Dated = { timeMs: number; evidence: DemandEvidence | { is: 'look' } };

/** How noisy the kit is, as a multiple of its stated standard deviation, and how the demand wanders. */
export type PastHypothesis = { testFactor: number; wander: Wander };

/** What is known of the past beside the evidence itself. */
export type PastContext = {
  options: DemandOptions;
  fates: Fates;
  /** What steady dosing has raised up to a time; the evidence is without it. */
  steady(timeMs: number): number;
};

/** What became of a test in the end, by its place in the evidence; one that is not named is plain. */
export type Fates = ReadonlyMap<number, 'confirmed' | 'refuted'>;

/** One moment of the forward pass: the belief before and after its test, and the slopes that led to it. */
type Moment = {
  timeMs: number;
  before: Belief;
  after: Belief;
  slopes: Matrix4;
  test?: { value: number; isUsed: boolean };
};

/**
 * The past under one hypothesis: every test speaks for the days before it as well (a Rauch–Tung–Striebel smoother).
 *
 * @param evidence  oldest first, one system and analyte, without the steady doses
 * @param looks  a point at least each `everyMs` from the first entry to the last, or to `untilMs`, besides one at each test, and
 *   one before and one after each dose and water change: of a sawtooth the peaks alone stand above the water
 * @returns oldest first; empty without a test
 * @source Rauch, Tung & Striebel 1965 (cited from memory)
 */
export function pastUnder(
  hypothesis: PastHypothesis,
  evidence: readonly Evidence[],
  context: PastContext,
  looks: { everyMs: number; untilMs?: number | undefined },
): HistoryPoint[] {
  const { moments } = momentsOf(hypothesis, withLooks(evidence, looks.everyMs, looks.untilMs), context);
  return smoothed(moments).map((point) => ({ ...point, level: point.level + context.steady(point.timeMs) }));
}

/** How well a hypothesis foresaw the tests, as the logarithm of their density. */
export function logDensityUnder(
  hypothesis: PastHypothesis,
  evidence: readonly Evidence[],
  context: PastContext,
): number {
  return momentsOf(hypothesis, [...evidence.entries()], context).logDensity;
}

/** How well a hypothesis foresaw the tests, and the demand that it holds at the last entry. */
export function endUnder(
  hypothesis: PastHypothesis,
  evidence: readonly Evidence[],
  context: PastContext,
): { logDensity: number; demandPerDay: number; demandSd: number } | undefined {
  const { moments, logDensity } = momentsOf(hypothesis, [...evidence.entries()], context);
  const last = moments.at(-1);
  if (last === undefined) return undefined;
  const demandSd = Math.sqrt(Math.max(0, last.after.covariance[5]!));
  return { logDensity, demandPerDay: last.after.mean[1]!, demandSd };
}

function momentsOf(
  { testFactor, wander }: PastHypothesis,
  entries: readonly [number, Dated][],
  { options, fates, steady }: PastContext,
): { moments: Moment[]; logDensity: number } {
  const facts = demandFacts[options.analyte];
  const moments: Moment[] = [];
  let logDensity = 0;
  const variance = (sd: number | undefined): number =>
    (testFactor * (sd ?? options.usualTestSd ?? facts.usualTestSd)) ** 2 + (options.resolution ?? 0) ** 2 / 12;
  for (const [index, { timeMs, evidence: entry }] of entries) {
    const last = moments.at(-1);
    if (last === undefined) {
      if (entry.is !== 'test') continue;
      const cycle = firstCycleSd ** 2;
      const demand = firstDemandOf(facts, entry.plannedPerDay ?? 0);
      const covariance = [variance(entry.sd), 0, 0, 0, 0, demand.sd ** 2, 0, 0, 0, 0, cycle, 0, 0, 0, 0, cycle];
      if (entry.isBelow === true) covariance[0]! += entry.value ** 2 / 12;
      const level = entry.isBelow === true ? entry.value / 2 : entry.value;
      const first = { mean: [level - steady(timeMs), demand.mean, 0, 0], covariance };
      const test = { value: entry.value, isUsed: true };
      moments.push({ timeMs, before: first, after: first, slopes: [], test });
      continue;
    }
    const moment = carriedMoment(last, timeMs, wander);
    if (entry.is === 'dose') raise(moment, entry.rise);
    if (entry.is === 'water_change')
      change(
        moment,
        entry.share,
        (entry.newLevel ?? facts.newWater.level) - steady(timeMs),
        facts.newWater.sd,
        entry.newLevel !== undefined,
      );
    if (entry.is === 'step_expected') moment.before = loosened(moment.before, 1, (0.3 * moment.before.mean[1]!) ** 2);
    moment.after = moment.before;
    if (entry.is === 'test') {
      const fate = fates.get(index) ?? 'plain';
      if (fate === 'confirmed') {
        moment.before = loosened(moment.before, 0, facts.jumpSd ** 2);
        moment.before = loosened(moment.before, 1, (0.35 * moment.before.mean[1]!) ** 2);
      }
      const isUsed = fate !== 'refuted';
      if (isUsed) {
        const read = entry.isBelow === true ? testedBelow : tested;
        const found = read(moment.before, entry.value - steady(timeMs), variance(entry.sd));
        moment.after = found.belief;
        logDensity += found.logDensity;
      }
      moment.test = { value: entry.value, isUsed };
    }
    moments.push(moment);
  }
  return { moments, logDensity };
}

/** The evidence with its index, a look before what makes a step, and looks between where the pause is longer than `everyMs`. */
function withLooks(
  evidence: readonly { timeMs: number; evidence: DemandEvidence }[],
  everyMs: number,
  untilMs: number | undefined,
): [number, Dated][] {
  return evidence.flatMap((entry, index): [number, Dated][] => {
    const nextMs = evidence[index + 1]?.timeMs ?? untilMs ?? entry.timeMs;
    const looks: [number, Dated][] = [];
    for (let timeMs = entry.timeMs + everyMs; timeMs < nextMs; timeMs += everyMs)
      looks.push([-1, { timeMs, evidence: { is: 'look' } }]);
    const { is } = entry.evidence;
    const before: Dated[] =
      is === 'dose' || is === 'water_change' ? [{ timeMs: entry.timeMs, evidence: { is: 'look' } }] : [];
    return [...before.map((look): [number, Dated] => [-1, look]), [index, entry], ...looks];
  });
}

function carriedMoment(last: Moment, timeMs: number, wander: Wander): Moment {
  const before = carriedOn(last.after, last.timeMs, timeMs, wander);
  return { timeMs, before, after: before, slopes: carryingSlopes(last.after.mean, last.timeMs, timeMs, wander) };
}

function raise(moment: Moment, rise: number): void {
  const [level, ...others] = moment.before.mean as [number, number, number, number];
  moment.before = { mean: [level + rise, ...others], covariance: moment.before.covariance };
}

function change(moment: Moment, share: number, newLevel: number, newWaterSd: number, isTested: boolean): void {
  moment.before = mixed(moment.before, share, newLevel, isTested ? 0 : newWaterSd);
  moment.slopes = product([1 - share, 0, 0, 0, 0, 1, 0, 0, 0, 0, 1, 0, 0, 0, 0, 1], moment.slopes);
}

function smoothed(moments: readonly Moment[]): HistoryPoint[] {
  const points: HistoryPoint[] = [];
  let later: { belief: Belief; moment: Moment } | undefined;
  for (const moment of [...moments].reverse()) {
    const belief = later === undefined ? moment.after : smoothedStep(moment.after, later.moment, later.belief);
    const [level, demandPerDay] = belief.mean as [number, number];
    points.push({
      timeMs: moment.timeMs,
      level,
      levelSd: Math.sqrt(Math.max(0, belief.covariance[0]!)),
      demandPerDay,
      demandSd: Math.sqrt(Math.max(0, belief.covariance[5]!)),
      ...defined({ test: moment.test }),
    });
    later = { belief, moment };
  }
  return points.reverse();
}

function smoothedStep(after: Belief, next: Moment, nextSmoothed: Belief): Belief {
  const gain = product(product(after.covariance, transposed(next.slopes)), inverse(next.before.covariance));
  const mean = after.mean.map((entry, row) => {
    let moved = entry;
    for (let k = 0; k < 4; k++) moved += gain[row * 4 + k]! * (nextSmoothed.mean[k]! - next.before.mean[k]!);
    return moved;
  });
  const difference = nextSmoothed.covariance.map((entry, k) => entry - next.before.covariance[k]!);
  const corrected = sandwich(gain, difference);
  return { mean, covariance: after.covariance.map((entry, k) => entry + corrected[k]!) };
}
