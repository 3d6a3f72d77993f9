import type { DemandEstimate } from '../trend/demand-filter.ts';
import { sdsFor95Percent } from '../trend/normal-distribution.ts';
import { dayMs } from './advice-facts.ts';
import type { AdviceInput } from './advice-types.ts';
import { type HighSide, loweredShare } from './high-side.ts';

/**
 * Lowest plan that dosing which runs may be cut to at a time, unit a day: the high end of what is used, or a share of the most a day
 * below what runs, whichever is less. Two wrong tests in a row can make the use look like none, and a tank that is cut off from all it
 * uses falls by that each day. Where the level was seen to rise beyond the dosing, `highSide` says how far, and nothing holds it up.
 */
export function lowestPlan(
  { demandPerDay, demandSd }: Pick<DemandEstimate, 'demandPerDay' | 'demandSd'>,
  planPerDay: number,
  mostPerDay: number,
  side: HighSide,
): number {
  const mayBeUsed = demandPerDay + sdsFor95Percent * demandSd;
  const lowest = Math.min(planPerDay - loweredShare * mostPerDay, mayBeUsed);
  return Math.max(0, Math.min(lowest, side.highestPlan));
}

/**
 * Highest plan while it is in doubt whether doses arrive, unit a day. If none of the plan arrives, what the tests tell is the use and all of
 * the plan beside it; what lies beyond the plan is used in either story.
 *
 * @param surelyUsed   use at the low end of its interval if the doses arrive
 * @param plannedRise  what the plan alone raises the level by a day
 */
export function highestInDoubt(planPerDay: number, surelyUsed: number, plannedRise: number): number {
  return Math.max(planPerDay, surelyUsed - plannedRise);
}

/** Dosing of so many days ago still tells what ran before it was cut. */
const formerDays = 7;

/**
 * Highest plan while the tests do not carry a dose, unit a day: what runs. But dosing that was cut for too high a level begins again with
 * the first test below the middle of the band, up to what ran and what is used, even where that test may be wrong: to wait for the next
 * costs the tank a day of all its use, and to give what it uses costs nothing.
 */
export function highestInWait(input: AdviceInput, { demandPerDay }: DemandEstimate, planPerDay: number): number {
  const { low, high } = input.system.band;
  if (input.lastTests.at(-1)!.value >= (low + high) / 2) return planPerDay;
  return Math.max(planPerDay, Math.min(demandPerDay, formerPerDay(input)));
}

/** Most that was given in one of the last days, unit. */
function formerPerDay({ doses = [], nowMs }: AdviceInput): number {
  const days = new Array<number>(formerDays).fill(0);
  for (const { timeMs, rise } of doses) {
    const day = Math.floor((nowMs - timeMs) / dayMs);
    if (day >= 0 && day < formerDays) days[day]! += Math.max(0, rise);
  }
  return Math.max(...days);
}
