import { dayMs } from '../clock/durations.ts';
import type { DemandEstimate } from '../trend/demand-filter.ts';
import type { PastDemand } from './advice-types.ts';

/**
 * Two stories fit a level that falls faster than it did: the corals use more, or the plan does not arrive. The first asks for a
 * larger dose, and in the second that dose comes in full on the day the line is mended.
 */
export type Delivery = {
  /** Change of the demand that the tests tell, as a share of what the plan gives: 1 is as if nothing arrived, −1 as if it came twice. */
  missingShare: number;
  /** Chance that it is the pump, tube or container and not the corals, from 0 to 1, given that something changed. */
  chanceNotArriving: number;
};

/** From so many days ago the demand of before is taken. A change older than that is how the room is now. */
const lookedBackDays = { from: 2.5, to: 12 };
/** A demand known worse than this share of the plan says nothing about a change. */
const worthSdShare = 0.3;
/** Before so many tests the demand is still half what was taken for granted. */
const fewestTests = 5;
/** A change smaller than this share of the plan, or than its own standard deviation, is no change. */
export const leastShare = 0.4;
/** Spread of the missing share when nothing arrives, and of the use that may step by itself, as shares. */
const emptySd = 0.15;
const stepSd = 0.35;
/** Steady growth of young, well fed colonies, a day. @source common practice, no published source */
const growthSd = 0.02;
/**
 * How much likelier a step of use is than a pump that stops, before any test: alike by themselves, and corals that came make
 * it ten times so. @source common practice, no published source
 */
const priorOdds = { byItself: 1, afterArrival: 10 };

/** The same as odds of corals that use more against a dose that does not arrive. */
export function oddsOfCorals(isAfterArrival: boolean): number {
  return isAfterArrival ? priorOdds.afterArrival : priorOdds.byItself;
}

/** From this chance on the pump is looked at first. */
export const worthLooking = 0.2;

/**
 * How likely it is that the plan does not arrive; undefined where there is no plan, no demand of before, or no change.
 *
 * @param past        demands known after earlier tests, oldest first
 * @param planPerDay  what the plan raises the level by, unit a day
 * @param arrivalsMs  times at which corals arrived
 * @param seenMs      when somebody last entered the plan or a refill
 */
export function deliveryOf(
  estimate: DemandEstimate,
  past: readonly PastDemand[],
  planPerDay: number,
  arrivalsMs: readonly number[],
  seenMs: number | undefined,
  nowMs: number,
): Delivery | undefined {
  if (!(planPerDay > 0)) return undefined;
  const known = past.filter(({ timeMs, demandSd, testsUsed }) => {
    const days = (nowMs - timeMs) / dayMs;
    return (
      days >= lookedBackDays.from &&
      days <= lookedBackDays.to &&
      testsUsed >= fewestTests &&
      demandSd <= worthSdShare * planPerDay
    );
  });
  if (known.length === 0) return undefined;
  const before = lowQuarter(known);
  const missingShare = (estimate.demandPerDay - before.demandPerDay) / planPerDay;
  const sd = Math.hypot(estimate.demandSd, before.demandSd) / planPerDay;
  if (Math.abs(missingShare) < Math.max(leastShare, sd)) return { missingShare, chanceNotArriving: 0 };
  const grownSd = (growthSd * (nowMs - before.timeMs)) / dayMs;
  const stepShare = (Math.hypot(stepSd, grownSd) * Math.max(before.demandPerDay, 0.3 * planPerDay)) / planPerDay;
  const side = Math.sign(missingShare);
  const isAfterArrival = arrivalsMs.some((timeMs) => timeMs >= before.timeMs - 3 * dayMs && timeMs <= nowMs);
  // Looked at after the change began: what was seen before says nothing of it.
  const onset = past.find(({ timeMs, demandPerDay }) => {
    const share = (demandPerDay - before.demandPerDay) / planPerDay;
    return timeMs > before.timeMs && Math.abs(share) > leastShare && Math.sign(share) === side;
  });
  const isSeen = seenMs !== undefined && onset !== undefined && seenMs > onset.timeMs;
  if (isSeen) return { missingShare, chanceNotArriving: 0 };
  const odds = oddsOfCorals(isAfterArrival);
  const notArriving = density(missingShare - side, Math.hypot(emptySd, sd));
  const used = odds * density(missingShare, Math.hypot(stepShare, sd));
  // More missing than the plan ever gave cannot be told by an empty container alone, but it is no better told by corals.
  const beyond = Math.abs(missingShare) > 1 ? density(0, Math.hypot(emptySd, sd)) : 0;
  const fault = Math.max(notArriving, beyond);
  return { missingShare, chanceNotArriving: fault / (fault + used) };
}

/** The low quarter of what was known: of before the change while that is younger, and no single estimate that two wrong tests made. */
function lowQuarter(known: readonly PastDemand[]): PastDemand {
  const rising = [...known].sort((a, b) => a.demandPerDay - b.demandPerDay);
  return rising[Math.floor((rising.length - 1) / 4)]!;
}

function density(off: number, sd: number): number {
  return Math.exp(-0.5 * (off / sd) ** 2) / sd;
}
