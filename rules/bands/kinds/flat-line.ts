import type { ClockMove } from '../../clock/clock-move.ts';
import { dayMs, hourMs } from '../../clock/durations.ts';
import { probeCheck } from '../../words/first-checks.ts';
import { durationText } from '../../words/value-text.ts';
import type { Condition } from '../condition.ts';
import { type AlarmKind, probePriority } from './kind.ts';

/**
 * A probe stuck on one exact number. How long a number may stay is learned from the stream itself, because a coarse display
 * in steady water stands still for hours while a fine one moves with every reading.
 */

/** A stream that never stood still for long may stand still a good deal longer than it ever did, and no more. */
const habitMargin = 5;
/** Whatever the habit: half an hour on one number is short even for a lively probe. */
const leastMs = hourMs / 2;
/** Until two days of habit are known, the metric's own default holds. */
const learnedAfterDays = 2;
const rememberedDays = 7;
/** A run of two readings far apart is no stuck probe. */
const leastReadings = 8;

export type StuckRun = {
  value: number | null;
  sinceMs: number;
  readings: number;
  /** A long run that one odd value has just interrupted: it goes on when its own comes back at once. */
  interrupted: { value: number; sinceMs: number; readings: number } | null;
  /** Number of the running day since 1970, and its longest run that ended by itself. */
  day: number | null;
  longestTodayMs: number;
  /** Of the last whole days, oldest first, at most a week. */
  longestByDayMs: number[];
  /** The least by which a number and the next one differed; absent before the first change. */
  step?: number;
  /** Changes so far, counted up to those that make the step known. */
  changes?: number;
};

export function emptyStuckRun(): StuckRun {
  return {
    value: null,
    sinceMs: 0,
    readings: 0,
    interrupted: null,
    day: null,
    longestTodayMs: 0,
    longestByDayMs: [],
  };
}

/** The clock was put right; what the days have taught stays. */
export function moveStuckRun(run: StuckRun, { noted }: ClockMove): void {
  run.sinceMs = noted(run.sinceMs);
  if (run.interrupted !== null) run.interrupted.sinceMs = noted(run.interrupted.sinceMs);
}

/**
 * Takes a value.
 *
 * @param isGood  false for a suspect one: it can carry a run on, but a spike cannot end it
 * @param usualMs  how long the metric may stand still at most
 * @param coarseStep  from this on a display's step hides what the water does, in the metric's unit
 */
export function flatCondition(
  run: StuckRun,
  value: number,
  isGood: boolean,
  timeMs: number,
  usualMs: number,
  coarseStep: number = Number.POSITIVE_INFINITY,
): Condition {
  learnStep(run, value);
  const isCoarse = (run.changes ?? 0) >= leastChanges && (run.step ?? 0) >= coarseStep;
  const defaultMs = isCoarse ? coarseTimes * usualMs : usualMs;
  if (value !== run.value) {
    if (!isGood && run.value !== null) return 'unknown';
    if (resumes(run, value)) return runCondition(run, timeMs, defaultMs);
    begin(run, value, timeMs);
    return run.interrupted === null ? 'normal' : 'deadband';
  }
  run.readings += 1;
  return runCondition(run, timeMs, defaultMs);
}

/** pH moves by a tenth a day: a display of tenths stands still for most of a day, and for two when the swing is small. */
const coarseTimes = 12;
const leastChanges = 2;

function learnStep(run: StuckRun, value: number): void {
  const change = run.value === null ? 0 : Math.abs(value - run.value);
  // Less is the arithmetic's and not the display's.
  if (!(change > 1e-9 * Math.abs(value))) return;
  run.step = Math.min(run.step ?? change, change);
  run.changes = Math.min(leastChanges, (run.changes ?? 0) + 1);
}

function runCondition(run: StuckRun, timeMs: number, defaultMs: number): Condition {
  const standsMs = timeMs - run.sinceMs;
  if (standsMs < leastMs || run.readings < leastReadings) return run.interrupted === null ? 'normal' : 'deadband';
  return standsMs >= standstillAllowedMs(run, defaultMs) ? 'abnormal' : 'normal';
}

function resumes(run: StuckRun, value: number): boolean {
  if (run.interrupted === null || run.interrupted.value !== value || run.readings > 1) return false;
  run.value = value;
  run.sinceMs = run.interrupted.sinceMs;
  run.readings = run.interrupted.readings + 1;
  run.interrupted = null;
  return true;
}

function begin(run: StuckRun, value: number, timeMs: number): void {
  const { value: before, interrupted, sinceMs, readings } = run;
  // Nothing brought the interrupted run back: it ended where the one after it began.
  if (interrupted !== null) learn(run, sinceMs - interrupted.sinceMs, interrupted.readings, timeMs);
  const ranMs = timeMs - sinceMs;
  const wasLong = before !== null && ranMs >= leastMs && readings >= leastReadings;
  // It may go on after one odd value: then it has not ended yet.
  if (before !== null && !wasLong) learn(run, ranMs, readings, timeMs);
  run.interrupted = wasLong ? { value: before, sinceMs, readings } : null;
  run.value = value;
  run.sinceMs = timeMs;
  run.readings = 1;
}

/** How long this stream may stand still, in milliseconds: never longer than its default unless it often does so. */
export function standstillAllowedMs(run: StuckRun, defaultMs: number): number {
  if (run.longestByDayMs.length < learnedAfterDays) return defaultMs;
  const habitMs = habitMargin * Math.max(run.longestTodayMs, ...run.longestByDayMs);
  return Math.max(leastMs, Math.min(habitMs, 3 * defaultMs));
}

function learn(run: StuckRun, ranMs: number, readings: number, timeMs: number): void {
  const day = Math.floor(timeMs / dayMs);
  if (run.day === null) run.day = day;
  if (day !== run.day) {
    run.longestByDayMs = [...run.longestByDayMs, run.longestTodayMs].slice(-rememberedDays);
    run.day = day;
    run.longestTodayMs = 0;
  }
  // A pause of the stream ends in another number too.
  if (readings < 2 || ranMs > dayMs) return;
  // A stuck probe that was mended must not teach that standing still is usual: the habit grows by half at a time.
  const mostMs =
    run.longestByDayMs.length < learnedAfterDays
      ? Number.POSITIVE_INFINITY
      : Math.max(leastMs / habitMargin, 1.5 * Math.max(run.longestTodayMs, ...run.longestByDayMs));
  run.longestTodayMs = Math.max(run.longestTodayMs, Math.min(ranMs, mostMs));
}

export const flatLine: AlarmKind<'flat_line', 'flat', never> = {
  id: 'flat_line',
  means: 'Exactly the same value for hours: the probe is probably stuck.',
  firstLook: 'is the probe plugged in and submerged, and does its value move when you warm it in your hand?',
  appliesTo: 'metric',
  hasDeadband: false,
  onStream: {
    flat: {
      slot: 7,
      defaults: ({ band, facts }) => ({
        priority: probePriority(band),
        isEnabled: facts.flatAfterHours !== undefined,
        limit: (facts.flatAfterHours ?? 0) * hourMs,
        offDelayMs: hourMs / 6,
      }),
      judge: {
        each: 'reading',
        condition: ({ stream: { series, plan }, settings, quality, isGood, timeMs }) =>
          'value' in quality
            ? flatCondition(series.stuck, quality.value, isGood, timeMs, settings.limit, plan.defaults.coarseStep)
            : undefined,
      },
      hiddenBy: { by: ['silent'], forMs: 0 },
      raised: ({ name, metric, stream: { series }, nowMs }) =>
        `${name} has shown exactly the same value for ${durationText(nowMs - series.stuck.sinceMs)}: the probe is probably stuck. ${probeCheck(metric)}`,
      returned: ({ name, valueAfter }) => `${name} moves again${valueAfter}.`,
    },
  },
  elsewhere: {},
};
