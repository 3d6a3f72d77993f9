import { minuteMs } from '../clock/durations.ts';

/** How long a stream of readings may be silent: by the configuration's interval, else by what is learned from the stream. */

/** Five expected readings in a row are no longer a lost line. */
const silentIntervals = 5;
/** Below three minutes a reconnecting cable or broker would be reported as a dead probe. */
const leastSilenceMs = 3 * minuteMs;
/** After its first reading nobody knows whether a stream speaks by the second or by the hour. */
const firstWordMs = 180 * minuteMs;
/** While its habit is still uncertain. */
const unknownHabitMs = 30 * minuteMs;
/** Readings after which the habit counts as known. */
const knownAfter = 10;
/** A stream that pauses now and then may pause a little longer than it ever did. */
const pauseMargin = 2.5;

export type Habit = {
  /** Intervals seen, at most `knownAfter`. */
  count: number;
  /** The usual interval: a running median. */
  typicalMs: number;
  /** The longest pause of late that was not an outage, fading slowly. */
  usualPauseMs: number;
};

export function emptyHabit(): Habit {
  return { count: 0, typicalMs: 0, usualPauseMs: 0 };
}

/**
 * Learns from the time between two readings of a stream.
 *
 * @param gapMs  above 0
 */
export function learnHabit(habit: Habit, gapMs: number): void {
  if (habit.count === 0) {
    habit.typicalMs = gapMs;
    habit.usualPauseMs = gapMs;
    habit.count = 1;
    return;
  }
  // Steps in proportion, up as often as down, settle on the median; large at first, small once it is known.
  const step = habit.count < knownAfter ? 0.5 : 0.02;
  if (habit.count < knownAfter) habit.count += 1;
  if (gapMs > habit.typicalMs) habit.typicalMs = Math.min(gapMs, habit.typicalMs * (1 + step));
  else habit.typicalMs = Math.max(gapMs, habit.typicalMs / (1 + step));
  // An outage must not teach that outages are usual: one gap can lengthen the pause by half at most.
  if (gapMs > habit.usualPauseMs) habit.usualPauseMs = Math.min(gapMs, 1.5 * habit.usualPauseMs);
  else habit.usualPauseMs -= (habit.usualPauseMs - gapMs) / 2000;
}

/**
 * How long this stream may be silent.
 *
 * @param everyMs  the configured interval, if any
 * @param isStreamed  false for what is mostly tested by hand: nothing is expected until a habit is known
 * @returns milliseconds, or undefined while nothing can be expected
 */
export function silenceAllowedMs(habit: Habit, everyMs: number | undefined, isStreamed: boolean): number | undefined {
  if (everyMs !== undefined) return Math.max(leastSilenceMs, silentIntervals * everyMs);
  if (habit.count < knownAfter) {
    if (!isStreamed) return undefined;
    if (habit.count === 0) return firstWordMs;
    return Math.max(unknownHabitMs, silentIntervals * habit.usualPauseMs);
  }
  return Math.max(leastSilenceMs, silentIntervals * habit.typicalMs, pauseMargin * habit.usualPauseMs);
}

/**
 * The same verdict for whoever was told how long a stream may be silent.
 *
 * @param allowedMs  from `silenceAllowedMs`; null where nothing is expected
 * @param heardMs    of its last reading, UTC milliseconds
 */
export function isSilentBy(allowedMs: number | null, heardMs: number, nowMs: number): boolean {
  return allowedMs !== null && nowMs - heardMs > allowedMs;
}
