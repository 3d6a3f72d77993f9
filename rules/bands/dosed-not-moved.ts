import type { Metric } from '../quantity/metric.ts';
import type { Condition } from './condition.ts';

/** An empty container, a blocked line or a spent solution: doses are on record, and the water does not show them. */

const dayMs = 86_400_000;
/** Expected rises below three standard deviations of the difference of two tests cannot be seen. */
const deviations = 3;
const mostApartDays = 10;

/** Standard deviation of one test by hand when nobody states it. Common practice, no published source. */
const testSd: Partial<Record<Metric, number>> = { alkalinity: 0.2, calcium: 10, magnesium: 30 };

export type KnownTest = { timeMs: number; value: number; sd?: number };
export type KnownDose = { timeMs: number; raisesBy: number };

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
    const usual = testSd[metric] ?? 0;
    const sd = Math.hypot(now.sd ?? usual, before.sd ?? usual);
    if (expected <= deviations * sd) continue;
    const risen = now.value - before.value + demandPerDay * days;
    const missing = (expected - risen) / expected;
    if (missing > limit && expected - risen > 2 * sd) return 'abnormal';
    return missing > limit - deadband ? 'deadband' : 'normal';
  }
  return 'unknown';
}
