import { within } from '../quantity/out-of-range.ts';
import { demandFacts } from './demand-facts.ts';
import type { DemandOptions } from './demand-filter.ts';
import { followedWhole } from './demand-history.ts';
import { endUnder } from './demand-past.ts';
import type { DatedDemandEvidence } from './demand-track.ts';
import { normalShareBelow } from './normal-distribution.ts';

/** One way in which the use may grow, with its weight and the use that it holds now. Weights add up to 1. */
export type GrowthBelief = {
  weight: number;
  /** Share of the use a day. */
  growthShare: number;
  /** Random growth of the use as a share of it, for each square root of a day. */
  growthSd: number;
  demandPerDay: number;
  demandSd: number;
};

/**
 * Steady growth looked at, share a day: from a use that halves in ten weeks to one that doubles in three; and how it wanders beside.
 * Young colonies well fed double in a month or two, old tanks stand still. @source common practice, no published source
 */
const growthShares = [
  -0.01, -0.006, -0.004, -0.002, 0, 0.002, 0.004, 0.006, 0.008, 0.01, 0.013, 0.016, 0.02, 0.025, 0.033,
];
const usualGrowth = { mean: 0.002, sd: 0.007 };
const growthSds = [0.002, 0.006, 0.02];
/** Growth is told from no fewer tests. */
const fewestTests = 8;

/**
 * How the use of an analyte grows, by Bayes' rule over ways of growing: each is weighed by how well it foresaw all tests.
 *
 * @param diary  of one system and analyte, oldest first; some months tell more than some weeks
 * @returns empty where there are fewer than eight tests
 */
export function growthBeliefs(diary: readonly DatedDemandEvidence[], options: DemandOptions): GrowthBelief[] {
  if (diary.filter(({ evidence }) => evidence.is === 'test').length < fewestTests) return [];
  const { state, rest, context } = followedWhole(diary, options);
  const total = state.hypotheses.reduce((sum, { weight }) => sum + weight, 0);
  const factor = state.hypotheses.reduce((sum, { weight, testFactor }) => sum + weight * testFactor ** 2, 0) / total;
  const { leastDemand, levelSd } = demandFacts[options.analyte];
  const judged = growthShares.flatMap((growthShare) =>
    growthSds.flatMap((growthSd) => {
      const wander = { growthSd, growthShare, leastDemand, levelSd };
      const end = endUnder({ testFactor: Math.sqrt(factor), wander }, rest, context);
      if (end === undefined || !Number.isFinite(end.logDensity)) return [];
      const prior = -(((growthShare - usualGrowth.mean) / usualGrowth.sd) ** 2) / 2 + Math.log(widthAt(growthShare));
      return [{ log: end.logDensity + prior, growthShare, growthSd, ...end }];
    }),
  );
  const largest = Math.max(...judged.map(({ log }) => log));
  const sum = judged.reduce((all, { log }) => all + Math.exp(log - largest), 0);
  return judged.map(({ log, growthShare, growthSd, demandPerDay, demandSd }) => ({
    weight: Math.exp(log - largest) / sum,
    growthShare,
    growthSd,
    demandPerDay,
    demandSd,
  }));
}

/** How much of the line each of the unevenly spaced shares stands for. */
function widthAt(share: number): number {
  const at = growthShares.indexOf(share);
  const [before, after] = [
    growthShares[Math.max(0, at - 1)]!,
    growthShares[Math.min(growthShares.length - 1, at + 1)]!,
  ];
  return after - before;
}

/** Days from now on, on the way to a limit; absent: not within the days looked at. */
export type WhenReached = { likelyDays?: number; low95Days?: number; high95Days?: number; chanceWithin: number };

/**
 * When the use will have grown to a limit.
 *
 * @param limitPerDay  above 0, in the analyte's unit a day
 * @param withinDays   1 to 3650
 * @returns the days by which it has with a chance of a half, of 2.5 and of 97.5 in 100; `chanceWithin` all the days looked at
 * @throws OutOfRange  outside these limits
 */
export function whenUseReaches(beliefs: readonly GrowthBelief[], limitPerDay: number, withinDays = 365): WhenReached {
  const limit = within('limit of the use, a day', limitPerDay, Number.MIN_VALUE, 1e6);
  const most = within('days ahead', withinDays, 1, 3650);
  let reached = 0;
  const found: WhenReached = { chanceWithin: 0 };
  for (let day = 0; day <= most; day += 1) {
    const chance = beliefs.reduce((sum, belief) => sum + belief.weight * chanceAt(belief, limit, day), 0);
    // What has once outgrown a pump has outgrown it.
    reached = Math.max(reached, chance);
    if (found.low95Days === undefined && reached >= 0.025) found.low95Days = day;
    if (found.likelyDays === undefined && reached >= 0.5) found.likelyDays = day;
    if (found.high95Days === undefined && reached >= 0.975) found.high95Days = day;
  }
  return { ...found, chanceWithin: reached };
}

/** Chance that the use is above a limit on a day: it grows by its share, and wanders as a share of itself. */
function chanceAt({ growthShare, growthSd, demandPerDay, demandSd }: GrowthBelief, limit: number, day: number): number {
  const mean = demandPerDay * Math.exp(growthShare * day);
  const sd = Math.hypot(demandSd * Math.exp(growthShare * day), growthSd * Math.sqrt(day) * Math.max(0, mean));
  if (sd === 0) return mean >= limit ? 1 : 0;
  return 1 - normalShareBelow((limit - mean) / sd);
}
