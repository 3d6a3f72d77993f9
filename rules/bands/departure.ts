import { type Condition, conditionAbove } from './condition.ts';
import type { DayCycle, distanceFromUsual } from './day-cycle.ts';

/** Whatever the band allows, what this stream does every other day is not worth an alarm. */
const spreads = 5;
const wholeWeek = 7;

/**
 * A value that this time of the day is not used to. Unknown in the first three days; until a week is known it must be twice
 * as far away, because three days say little about the fourth.
 *
 * @param distance  from `distanceFromUsual`, in the metric's store unit
 * @param limit     distance that is allowed once a week is known, same unit
 * @param deadband  same unit
 */
export function departureCondition(
  cycle: DayCycle,
  distance: ReturnType<typeof distanceFromUsual>,
  limit: number,
  deadband: number,
): Condition {
  if (distance === undefined) return 'unknown';
  const factor = cycle.knownDays < wholeWeek ? 2 : 1;
  const allowed = factor * Math.max(limit, spreads * cycle.spread);
  return conditionAbove(Math.abs(distance), allowed, Math.min(factor * deadband, allowed));
}
