import { type DemandReport, usualDemand, withReport } from '../bands/kinds/demand-changed.ts';
import { dosedNotMovedCondition, notMovedDefaults } from '../bands/kinds/dosed-not-moved.ts';
import { dayMs } from './advice-facts.ts';
import type { AdviceInput } from './advice-types.ts';
import { oddsOfCorals, worthLooking } from './delivery.ts';

/** Corals that came within so many days may be what the tests show. */
const arrivalDays = 14;

/**
 * Whether the alarm of doses that the tests do not show is active after the last test, and the pump, the tube or the solution is not
 * clearly the less likely story.
 *
 * The tests say that some of it is missing, and how much says little here: a spent solution or a half-blocked tube gives any
 * share. So the two stories are weighed by how often each happens, and by whether corals came. Somebody who looked at the
 * pump since the alarm began, and logged a refill or the plan as it was, is believed.
 */
export function areDosesNotSeen(input: AdviceInput): boolean {
  const { arrivalsMs = [], planSeenMs, nowMs } = input;
  const sinceMs = notSeenSinceMs(input);
  if (sinceMs === undefined || (planSeenMs !== undefined && planSeenMs > sinceMs)) return false;
  const isAfterArrival = arrivalsMs.some((timeMs) => timeMs > nowMs - arrivalDays * dayMs && timeMs <= nowMs);
  return 1 / (1 + oddsOfCorals(isAfterArrival)) >= worthLooking;
}

/** The test with which the alarm began; undefined while it is not active. The same condition, with the same latch. */
function notSeenSinceMs({ analyte, lastTests, doses = [], pastDemands = [] }: AdviceInput): number | undefined {
  const tests = lastTests.map(({ timeMs, value }) => ({ timeMs, value }));
  const given = doses.map(({ timeMs, rise }) => ({ timeMs, raisesBy: rise }));
  const { limit, deadband } = notMovedDefaults;
  let sinceMs: number | undefined;
  for (const [index, { timeMs }] of tests.entries()) {
    const known = pastDemands
      .filter((each) => each.timeMs <= timeMs)
      .reduce<DemandReport[]>(
        (reports, { timeMs: knownMs, demandPerDay, demandSd }) =>
          withReport(reports, { timeMs: knownMs, perDay: demandPerDay, sd: demandSd }),
        [],
      );
    const until = tests.slice(0, index + 1);
    const condition = dosedNotMovedCondition(analyte, until, given, usualDemand(known, timeMs), limit, deadband);
    if (condition === 'abnormal') sinceMs ??= timeMs;
    if (condition === 'normal') sinceMs = undefined;
  }
  return sinceMs;
}
