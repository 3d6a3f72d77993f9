import { demandBefore, dosedNotMovedCondition, notMovedDefaults } from '../bands/kinds/dosed-not-moved.ts';
import { dayMs } from '../clock/durations.ts';
import type { DemandEstimate } from '../trend/demand-filter.ts';
import type { AdviceInput } from './advice-types.ts';
import { leastShare, oddsOfCorals, worthLooking } from './delivery.ts';

/** Corals that came within so many days may be what the tests show. */
const arrivalDays = 14;
/** As long as the alarm remembers what was used before. */
const rememberedDays = 28;

/**
 * Whether the alarm of doses that the tests do not show is active after the last test, and the pump, the tube or the solution is not
 * clearly the less likely story.
 *
 * How much is missing says little here: a spent solution or a half-blocked tube gives any share. So the two stories are weighed by how
 * often each happens, and by whether corals came. The alarm compares two tests; where all tests together are sure that little of
 * the plan is missing, it was the tests. Somebody who looked since the alarm began, and logged a refill or the plan as it was, is believed.
 *
 * @param plannedRise  what the plan alone raises the level by, unit a day
 */
export function areDosesNotSeen(input: AdviceInput, estimate: DemandEstimate, plannedRise: number): boolean {
  const { arrivalsMs = [], planSeenMs, nowMs } = input;
  const since = notSeenSince(input);
  if (since === undefined || (planSeenMs !== undefined && planSeenMs > since.timeMs)) return false;
  const mostMissing = estimate.demandPerDay + 2 * estimate.demandSd - since.demandBefore;
  if (plannedRise > 0 && mostMissing < leastShare * plannedRise) return false;
  const isAfterArrival = arrivalsMs.some((timeMs) => timeMs > nowMs - arrivalDays * dayMs && timeMs <= nowMs);
  return 1 / (1 + oddsOfCorals(isAfterArrival)) >= worthLooking;
}

type Since = { timeMs: number; demandBefore: number };

/** The test with which the alarm began; undefined while it is not active. The same condition, with the same latch. */
function notSeenSince({ analyte, lastTests, doses = [], pastDemands = [] }: AdviceInput): Since | undefined {
  const tests = lastTests.map(({ timeMs, value }) => ({ timeMs, value }));
  const given = doses.map(({ timeMs, rise }) => ({ timeMs, raisesBy: rise }));
  const { limit, deadband } = notMovedDefaults;
  let since: Since | undefined;
  for (const [index, { timeMs }] of tests.entries()) {
    const before = demandBefore(dailyReports(pastDemands, timeMs), timeMs);
    const until = tests.slice(0, index + 1);
    const condition = dosedNotMovedCondition(analyte, until, given, before, limit, deadband);
    if (condition === 'abnormal' && before !== undefined) since ??= { timeMs, demandBefore: before };
    if (condition === 'normal') since = undefined;
  }
  return since;
}

/** What a hub that runs all day says of the demand each day: that of the last test until then. */
function dailyReports(past: NonNullable<AdviceInput['pastDemands']>, nowMs: number) {
  const days = Array.from({ length: rememberedDays }, (_, i) => nowMs - (rememberedDays - i) * dayMs);
  return days.flatMap((timeMs) => {
    const known = past.findLast((each) => each.timeMs <= timeMs);
    return known === undefined ? [] : [{ timeMs, perDay: known.demandPerDay, sd: known.demandSd }];
  });
}
