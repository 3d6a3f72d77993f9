import type { DemandEstimate } from '../trend/demand-filter.ts';
import { sdsFor95Percent } from '../trend/normal-distribution.ts';
import { adviceFacts, daysAhead } from './advice-facts.ts';
import type { AdviceInput } from './advice-types.ts';

/** Advice that stands goes on down to this share of what it takes to begin: else it would come and go by the hour. */
const standingShare = 0.5;

/** What the water needs, in the analyte's unit, before any product is thought of. */
export type WantedPlan = {
  /** Standing rise a day from now on, and whether that is a change worth making. */
  risePerDay: number;
  isChange: boolean;
  /** Rise wanted on each day on top, the first today; empty when none is. */
  correction: number[];
  /** The level is above its band: nothing takes it out but the corals and a water change. */
  isTooHigh: boolean;
  middle: number;
  mostPerDay: number;
};

/** A change of the plan below this share of the most a day is not worth a keeper's hand. */
const smallestShareOfMost = 0.08;
/** A level nearer to the middle than this share of half the band is left alone. */
const leftAloneShare = 0.25;

/**
 * Maintenance and correction by level and demand alone.
 *
 * Maintenance meets the demand; it changes only when demand and plan differ by more than the demand's own uncertainty.
 * Correction leads to the middle of the band, each day at most what the band allows on top of the demand; what is uncertain
 * of the demand is taken off that allowance, down to a half of it. Above the band the plan falls below the demand.
 */
export function wantedPlan(input: AdviceInput, estimate: DemandEstimate): WantedPlan {
  const { band } = input.system;
  const middle = (band.low + band.high) / 2;
  const mostPerDay = band.mostPerDay ?? adviceFacts[input.analyte].mostPerDay;
  const demand = Math.max(0, estimate.demandPerDay);
  const demandDoubt = sdsFor95Percent * estimate.demandSd;
  const plan = input.currentPlanPerDay;
  if (estimate.level > band.high) {
    const lower = Math.max(0, demand - Math.min(mostPerDay, estimate.level - middle));
    const isChange = plan - lower > smallestShareOfMost * mostPerDay;
    return { risePerDay: isChange ? lower : plan, isChange, correction: [], isTooHigh: true, middle, mostPerDay };
  }
  const planStep = Math.max(demandDoubt, smallestShareOfMost * mostPerDay);
  const isChange = Math.abs(demand - plan) > (input.standing?.isPlanChange === true ? standingShare : 1) * planStep;
  // Were the demand at the low end of its interval, the plan must still not lift the level faster than the band allows.
  const carefulMost = Math.max(0, demand - demandDoubt) + mostPerDay;
  const risePerDay = isChange ? Math.min(demand, Math.max(plan, carefulMost)) : plan;
  const allowed = Math.max(mostPerDay / 2, mostPerDay - demandDoubt) - Math.max(0, risePerDay - demand);
  const deficit = middle - estimate.level;
  const leftAlone = Math.max(sdsFor95Percent * estimate.levelSd, leftAloneShare * (band.high - middle));
  const enough = (input.standing?.isCorrection === true ? standingShare : 1) * leftAlone;
  const correction = deficit > enough && allowed > 0 ? spread(deficit, allowed) : [];
  return { risePerDay, isChange, correction, isTooHigh: false, middle, mostPerDay };
}

/** The allowance each day until the rest is less, so that a larger deficit never means a smaller dose today. */
function spread(total: number, mostEachDay: number): number[] {
  const days: number[] = [];
  let left = total;
  while (left > 1e-9 && days.length < daysAhead) {
    const today = Math.min(left, mostEachDay);
    days.push(today);
    left -= today;
  }
  return days;
}
