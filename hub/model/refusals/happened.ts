import { Refused } from './refused.ts';

/** Two clocks never agree to the second; a day typed wrong is caught. */
const aheadMostMs = 5 * 60_000;
/** A board whose clock woke in 1970 has dated it, not a person. */
const oldestMs = Date.UTC(2000, 0, 1);

/**
 * UTC ms of a time that was typed; now when none was.
 *
 * @throws Refused in_the_future, or out_of_range for one before the year 2000
 */
export function happenedMs(text: string | undefined, nowMs: number): number {
  if (text === undefined) return nowMs;
  const timeMs = Date.parse(text);
  if (timeMs > nowMs + aheadMostMs) throw new Refused('in_the_future', `the time ${text} is in the future`);
  if (timeMs < oldestMs) throw new Refused('out_of_range', `the time ${text} is before the year 2000`);
  return timeMs;
}
