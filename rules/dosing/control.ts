import type { Band } from '../bands/watched-room.ts';
import { normalShareBelow } from '../trend/normal-distribution.ts';
import { adviceFacts } from './advice-facts.ts';
import type { AdviceInput } from './advice-types.ts';

/**
 * The loss that advice makes small, and what it may choose from. The reasons stand in README.md beside this file.
 *
 * For a daily rise u and a single rise c, with the use d and its growth g as they are expected:
 *
 *     loss = mean over the horizon of [ (level − middle)² + λ · (change of that day)² ]
 *     act  when the best u, c saves more than the price of an act
 *
 * All of it in a scale of its own: 1 is twice the most a day or two thirds of the band's width, whichever is less, so that one set
 * of constants serves all analytes and bands. For alkalinity in a band of 1.5 dKH with 0.5 dKH a day it is 1 dKH.
 */
const changeWeight = 0.2;
/** Price of a person's hand at the pump, in squared scale: what a distance of 0.12 dKH costs. */
const priceOfAct = 0.015;
/** A dose beside the plan is one more thing to do and to log. */
const priceOfSingle = 0.01;
/** A dose below this share of the most a day is not worth measuring out. */
const leastSingleShare = 0.2;
/** The horizon: a day, and one and a half times the pause between tests, for nothing is learned before the next. */
const horizonDays = (testEveryDays: number): number => 1 + 1.5 * testEveryDays;
/** The expected net change of a day that a choice aims at, as a share of the most a day: in calm water, and near an edge. */
const calmShare = 0.5;
const edgeShare = 0.55;
/** The same for today alone, single dose and plan together, while the level is below its band. */
const outsideShare = 0.8;
/** What a day may move the level by where the use is one sd from what is expected of it, as a share of the most a day … */
const likelyShare = 0.6;
/** … and what a choice may aim at however little is known of the use. */
const leastShare = 0.15;
/** Chance to be below the band before the next test from which single doses are considered. */
const edgeChance = 0.1;
const steps = 12;

export type Bounds = {
  /** Lowest and highest rise a day that may be chosen; the plan of now is always allowed unless `highest` is below it. */
  lowest: number;
  highest: number;
  /** Most that may be given at once today, beside a plan of so much a day. */
  mostSingle(planPerDay: number): number;
};

export type Choice = {
  planPerDay: number;
  single: number;
  isPlanChange: boolean;
  /** What acting saves against doing nothing, in prices of an act: 1 is just worth it. */
  worth: number;
};

type Expected = {
  level: number;
  demandPerDay: number;
  growthShare: number;
  planPerDay: number;
  middle: number;
  scale: number;
};

/** 1 on the scale of the loss, in the analyte's unit. */
export function lossScale(band: Band, mostPerDay: number): number {
  return Math.min(mostPerDay / 0.5, (band.high - band.low) / 1.5);
}

/**
 * The daily rise and today's single rise with the least expected loss within the bounds.
 *
 * @param planPerDay     what all stocks give a day now, unit
 * @param testEveryDays  the rhythm of tests, days, above 0
 */
export function chooseDosing(
  { analyte, system: { band } }: Pick<AdviceInput, 'analyte' | 'system'>,
  estimate: NonNullable<AdviceInput['estimate']>,
  planPerDay: number,
  testEveryDays: number,
  bounds: Bounds,
): Choice {
  const mostPerDay = band.mostPerDay ?? adviceFacts[analyte].mostPerDay;
  const scale = lossScale(band, mostPerDay);
  const horizon = horizonDays(testEveryDays);
  const middle = (band.low + band.high) / 2;
  const demandPerDay = Math.max(0, estimate.demandPerDay);
  const at: Expected = {
    level: estimate.level,
    demandPerDay,
    growthShare: estimate.growthShare ?? 0,
    planPerDay,
    middle,
    scale,
  };
  const isNearLow = chanceBelow(estimate, planPerDay, band.low, testEveryDays) > edgeChance;
  const isAbove = estimate.level > band.high;
  const inDoubt = Math.max(leastShare * mostPerDay, likelyShare * mostPerDay - estimate.demandSd);
  const reach = Math.min((isNearLow || isAbove ? edgeShare : calmShare) * mostPerDay, inDoubt);
  const nothing = lossOf(at, planPerDay, 0, horizon);
  const wanted = plainOptimum(at, horizon);
  const within = Math.max(demandPerDay - reach, Math.min(demandPerDay + reach, wanted));
  const plan = Math.max(0, bounds.lowest, Math.min(bounds.highest, within));
  let best = { planPerDay: plan, single: 0, loss: lossOf(at, plan, 0, horizon) + priceOfAct };
  if (isNearLow) {
    const isBelow = estimate.level < band.low;
    const reachToday = isBelow ? outsideShare * mostPerDay : Math.min(calmShare * mostPerDay, inDoubt);
    for (const beside of [plan, planPerDay, demandPerDay]) {
      if (beside > Math.max(planPerDay, bounds.highest) || beside < bounds.lowest) continue;
      const room = reachToday - Math.max(0, beside - demandPerDay);
      const allowed = Math.max(0, Math.min(middle - estimate.level, room, bounds.mostSingle(beside)));
      const loss = lossOf(at, beside, allowed, horizon) + priceOfAct + priceOfSingle;
      if (allowed >= leastSingleShare * mostPerDay && loss < best.loss)
        best = { planPerDay: beside, single: allowed, loss };
    }
  }
  const mustChange = planPerDay > bounds.highest + 1e-9;
  const worth = (nothing - best.loss + priceOfAct) / priceOfAct;
  if (worth <= 1 && !mustChange) return { planPerDay, single: 0, isPlanChange: false, worth };
  return {
    planPerDay: best.planPerDay,
    single: best.single,
    worth,
    isPlanChange: Math.abs(best.planPerDay - planPerDay) > 1e-9,
  };
}

/** Mean loss over the horizon, without prices, in squared scale. */
function lossOf(at: Expected, planPerDay: number, single: number, horizon: number): number {
  let sum = 0;
  for (let k = 1; k <= steps; k++) {
    const days = (horizon * k) / steps;
    const used = at.demandPerDay * (days + (at.growthShare * days * days) / 2);
    const off = (at.level + single + planPerDay * days - used - at.middle) / at.scale;
    const onFirstDay = days <= 1 ? single : 0;
    const moved = (planPerDay + onFirstDay - at.demandPerDay * (1 + at.growthShare * days)) / at.scale;
    sum += off * off + changeWeight * moved * moved;
  }
  return sum / steps;
}

/** The loss is a parabola in the daily rise: three points give its lowest. */
function plainOptimum(at: Expected, horizon: number): number {
  const [low, middle, high] = [-1, 0, 1].map((of) => lossOf(at, at.demandPerDay + of * at.scale, 0, horizon));
  return at.demandPerDay + (at.scale * (low! - high!)) / (2 * (low! + high! - 2 * middle!));
}

/** Chance that the level is below an edge at the next test, the plan going on as it is. */
function chanceBelow(
  {
    level,
    levelSd,
    demandPerDay,
    demandSd,
    levelDemandCovariance,
    learnedGrowthSd,
  }: NonNullable<AdviceInput['estimate']>,
  planPerDay: number,
  low: number,
  days: number,
): number {
  const then = level + (planPerDay - demandPerDay) * days;
  const variance =
    levelSd ** 2 - 2 * days * levelDemandCovariance + (days * demandSd) ** 2 + (learnedGrowthSd ** 2 * days ** 3) / 3;
  return normalShareBelow((low - then) / Math.sqrt(Math.max(1e-12, variance)));
}
