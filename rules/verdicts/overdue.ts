import { dayMs } from '../clock/durations.ts';

/**
 * Something that people do every so many days (a test, a calibration) was last done too long ago.
 *
 * @param lastMs  UTC milliseconds, or undefined when it was never done: then nothing is expected
 * @param limitDays  above 0
 * @returns undefined where nothing is expected
 */
export function isOverdue(lastMs: number | undefined, limitDays: number, nowMs: number): boolean | undefined {
  return lastMs === undefined ? undefined : nowMs - lastMs > limitDays * dayMs;
}
