import { minuteMs } from '../clock/durations.ts';
import type { Flag } from './reading.ts';

/**
 * QARTOD rate of change test: suspect when a value moved faster than the limit since the one before. Readings that follow
 * each other within a minute are given a minute's worth, else their noise would look like speed.
 *
 * @param change         difference to the reading before, in the metric's unit
 * @param elapsedMs      since the reading before, above 0
 * @param mostPerMinute  above 0, in the metric's unit for each minute
 * @source QARTOD manuals (IOOS), test 7 "rate of change" (from memory)
 */
export function rateOfChangeFlag(
  change: number,
  elapsedMs: number,
  mostPerMinute: number,
): Extract<Flag, 'pass' | 'suspect'> {
  const minutes = Math.max(1, elapsedMs / minuteMs);
  return Math.abs(change) > mostPerMinute * minutes ? 'suspect' : 'pass';
}
