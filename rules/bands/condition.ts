/**
 * What a rule sees at one moment.
 *
 * `deadband` is between the limit and the place where a return to normal counts: it neither raises an alarm nor clears
 * one. `unknown` is missing data: it changes nothing, so that a standing alarm stays as it is (frozen).
 */
export type Condition = 'normal' | 'deadband' | 'abnormal' | 'unknown';

/** Condition of a claim that holds, does not, or of which nothing is known. */
export function conditionOf(isAbnormal: boolean | undefined): Condition {
  return isAbnormal === undefined ? 'unknown' : isAbnormal ? 'abnormal' : 'normal';
}

/** Condition of a number that must stay at or below a limit. Units of all three alike; deadband from 0. */
export function conditionAbove(value: number, limit: number, deadband: number): Condition {
  if (value > limit) return 'abnormal';
  return value > limit - deadband ? 'deadband' : 'normal';
}

/** Condition of a number that must stay at or above a limit. Units of all three alike; deadband from 0. */
export function conditionBelow(value: number, limit: number, deadband: number): Condition {
  if (value < limit) return 'abnormal';
  return value < limit + deadband ? 'deadband' : 'normal';
}
