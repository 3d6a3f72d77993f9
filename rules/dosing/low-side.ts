import { dayMs } from '../clock/durations.ts';
import type { DemandEstimate } from '../trend/demand-filter.ts';
import { sdsFor95Percent } from '../trend/normal-distribution.ts';
import type { AdviceInput, HoldBack, HoldBackRule } from './advice-types.ts';
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

/** Dosing of so many days ago still tells what ran before it was cut, and what may not have arrived. */
const formerDays = 7;
/** Less than this share of what ran is dosing that was cut, and not a plan that follows the use. */
const cutShare = 0.5;
/** What the next test settles. Salinity in doubt, an old test, precipitation are no reason to give more of anything. */
const settledByTest: readonly HoldBackRule[] = ['outlying_test', 'interval_wider_than_band'];
const deliveryInDoubt: readonly HoldBackRule[] = ['plan_may_not_arrive', 'doses_not_seen'];

/**
 * Highest plan while something holds an increase back, unit a day: what runs, but for two cases in which that would cut a tank off.
 *
 * - A plan that was cut for too high a level begins again with the first test below the middle of the band, up to what ran and what is
 *   used, even where that test may be wrong or doses may not arrive: to wait for the next costs the tank a day of all its use.
 * - It is in doubt whether doses arrive. If none does, what the tests tell is the use and all that was given beside it; what lies beyond
 *   what was given is used in either story.
 *
 * @param surelyUsed  use at the low end of its interval if the doses arrive
 */
export function highestHeld(
  input: AdviceInput,
  holdBacks: readonly HoldBack[],
  { demandPerDay }: Pick<DemandEstimate, 'demandPerDay'>,
  planPerDay: number,
  surelyUsed: number,
): number {
  const areAll = (of: readonly HoldBackRule[]): boolean => holdBacks.every(({ rule }) => of.includes(rule));
  const { low, high } = input.system.band;
  const ran = mostInDay(input, (dose) => dose.isPlanned === true);
  const isCut = planPerDay < cutShare * ran && input.lastTests.at(-1)!.value < (low + high) / 2;
  if (isCut && areAll([...settledByTest, ...deliveryInDoubt])) return Math.max(planPerDay, Math.min(demandPerDay, ran));
  if (!areAll(deliveryInDoubt)) return planPerDay;
  const given = Math.max(
    planPerDay,
    mostInDay(input, () => true),
  );
  return Math.max(planPerDay, surelyUsed - given);
}

type Dose = NonNullable<AdviceInput['doses']>[number];

/** Most that was given in one of the last days, unit. */
function mostInDay({ doses = [], nowMs }: AdviceInput, counts: (dose: Dose) => boolean): number {
  const days = new Array<number>(formerDays).fill(0);
  for (const dose of doses.filter(counts)) {
    const day = Math.floor((nowMs - dose.timeMs) / dayMs);
    if (day >= 0 && day < formerDays) days[day]! += Math.max(0, dose.rise);
  }
  return Math.max(...days);
}
