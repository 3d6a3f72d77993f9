import { dayMs } from '../../clock/durations.ts';
import { analyteTable, isTestedAnalyte } from '../../quantity/analyte-table.ts';
import type { Metric } from '../../quantity/metric.ts';
import { metricFacts } from '../../quantity/metric.ts';
import { valueText } from '../../words/value-text.ts';
import type { Condition } from '../condition.ts';
import { type DemandReport, usualDemand } from './demand-changed.ts';
import { type AlarmKind, dosedMetrics, untilNext } from './kind.ts';

/** An empty container, a blocked line or a spent solution: doses are on record, and the water does not show them. */

/** Expected rises below three standard deviations of the difference of two tests cannot be seen. */
const deviations = 3;
const mostApartDays = 10;
/** Of a growing tank the demand of a month ago is too low, and every test would seem to miss some of its dose. */
const demandOfDays = 10;
/** Share of the expected rise that may be missing, and how much less ends it, where the keeper has set no other. */
export const notMovedDefaults = { limit: 0.5, deadband: 0.2 };

/** Standard deviation of one test by hand when nobody states it. Common practice, no published source. */
const testSd: Partial<Record<Metric, number>> = { alkalinity: 0.2, calcium: 10, magnesium: 30 };

export type KnownTest = { timeMs: number; value: number; sd?: number };
export type KnownDose = { timeMs: number; raisesBy: number };

/**
 * What the system used shortly before the last days: the usual demand of the last ten, or of the last month where they hold too few.
 *
 * @param reports  oldest first, unit a day
 */
export function demandBefore(reports: readonly DemandReport[], nowMs: number): number | undefined {
  const recent = reports.filter(({ timeMs }) => nowMs - timeMs <= demandOfDays * dayMs);
  return usualDemand(recent, nowMs) ?? usualDemand(reports, nowMs);
}

/**
 * Compares the newest test with the latest one before it for which the doses between should be seen.
 *
 * @param tests         oldest first, in the analyte's store unit
 * @param doses         oldest first, same unit
 * @param demandPerDay  what the system used before, same unit a day; without it nothing can be said
 * @param limit         share of the expected rise that may be missing, 0 to 1
 */
export function dosedNotMovedCondition(
  metric: Metric,
  tests: readonly KnownTest[],
  doses: readonly KnownDose[],
  demandPerDay: number | undefined,
  limit: number,
  deadband: number,
): Condition {
  const now = tests.at(-1);
  if (now === undefined || demandPerDay === undefined) return 'unknown';
  for (let i = tests.length - 2; i >= 0; i -= 1) {
    const before = tests[i]!;
    const days = (now.timeMs - before.timeMs) / dayMs;
    if (days > mostApartDays) return 'unknown';
    const expected = doses
      .filter(({ timeMs }) => timeMs > before.timeMs && timeMs <= now.timeMs)
      .reduce((sum, { raisesBy }) => sum + raisesBy, 0);
    const usual = testSd[metric] ?? (isTestedAnalyte(metric) ? analyteTable[metric].demand.usualTestSd : 0);
    const sd = Math.hypot(now.sd ?? usual, before.sd ?? usual);
    if (expected <= deviations * sd) continue;
    const risen = now.value - before.value + demandPerDay * days;
    const missing = (expected - risen) / expected;
    if (missing > limit && expected - risen > 2 * sd) return 'abnormal';
    return missing > limit - deadband ? 'deadband' : 'normal';
  }
  return 'unknown';
}

export const dosedNotMoved: AlarmKind<'dosed_not_moved', never, 'dosedNotMoved'> = {
  id: 'dosed_not_moved',
  means: 'What was dosed does not show in the tests.',
  firstLook:
    'is the pump really moving liquid, and into this tank? A cracked tube, an empty container, a clogged outlet. Do not dose more to make up for it before you know.',
  appliesTo: 'metric',
  hasDeadband: true,
  onStream: {},
  elsewhere: {
    dosedNotMoved: {
      defaults: ({ metric }) =>
        dosedMetrics.has(metric)
          ? {
              ...untilNext,
              priority: 'medium',
              ...notMovedDefaults,
            }
          : undefined,
      judge: {
        each: 'test',
        of({ room, plan: { metric, units }, settings, analyte }) {
          const { tests, doses, demand } = analyte;
          const { value } = tests.at(-1)!;
          const usual = demandBefore(demand, room.nowMs);
          const { label } = metricFacts[metric];
          return {
            value,
            condition: dosedNotMovedCondition(metric, tests, doses, usual, settings.limit, settings.deadband),
            raised: () =>
              `${label} was dosed, and the test does not show it (${valueText(metric, value, units)}). Test again, then check the container, the line and the strength of the solution before you dose more.`,
            cleared: () => `${label} follows its doses again.`,
          };
        },
      },
    },
  },
};
