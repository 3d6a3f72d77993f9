import type { Flag } from './reading.ts';

/** Since when a stream has stayed within a tolerance of one value. */
export type Stuck = { value: number; sinceMs: number };

/**
 * QARTOD flat line test: the values have stayed within a tolerance for too long.
 *
 * @param stuck     changed in place: starts again when the value leaves the tolerance around where it started
 * @param within    tolerance, 0 for exactly the same number, in the metric's unit
 * @param suspectMs, failMs  durations; absent: never
 * @source QARTOD manuals (IOOS), test 8 "flat line", with durations in place of counts (from memory)
 */
export function flatLineFlag(
  stuck: Stuck,
  value: number,
  timeMs: number,
  within: number,
  suspectMs: number | undefined,
  failMs: number | undefined,
): Extract<Flag, 'pass' | 'suspect' | 'fail'> {
  if (!(Math.abs(value - stuck.value) <= within)) {
    stuck.value = value;
    stuck.sinceMs = timeMs;
    return 'pass';
  }
  const heldMs = timeMs - stuck.sinceMs;
  if (failMs !== undefined && heldMs >= failMs) return 'fail';
  return suspectMs !== undefined && heldMs >= suspectMs ? 'suspect' : 'pass';
}
