import type { Condition } from './condition.ts';

const dayMs = 86_400_000;

/**
 * Something that people do every so many days (a test, a calibration) was last done too long ago.
 *
 * @param lastMs  UTC milliseconds, or undefined when it was never done: then nothing is expected
 * @param limitDays  above 0
 */
export function overdueCondition(lastMs: number | undefined, limitDays: number, nowMs: number): Condition {
  if (lastMs === undefined) return 'unknown';
  return nowMs - lastMs > limitDays * dayMs ? 'abnormal' : 'normal';
}
