import { dayMs } from '../clock/durations.ts';
import type { AdviceInput } from './advice-types.ts';

/**
 * What raised the level in the day that was and will raise it in the day to come, from all sources, held against the most that
 * any 24 hours may raise it by on top of the use.
 *
 * Is: no dose is advised that would lead any span of 24 hours past the most, however often it is asked and whatever was given
 * in between. Is not: a reason to cut a plan that runs, or to undo what was done beyond it.
 */
export type DayLedger = {
  /** Most that 24 hours may raise the level by, unit: the band's most a day and the use at the low end of its interval. */
  mostInDay: number;
  /** Given in the last 24 hours, unit. */
  givenInDay: number;
  /** What was given beyond the most, unit; 0 when it was not passed. */
  beyond: number;
  /** Highest plan from now on, unit a day, with no single dose. */
  highestPlan: number;
  /** Most that may go in at once beside such a plan. */
  mostSingle(planPerDay: number): number;
};

/**
 * @param surelyUsedPerDay  the use at the low end of its interval, unit a day, 0 or more
 */
export function dayLedger(
  { given, planned, nowMs }: Pick<AdviceInput, 'given' | 'planned' | 'nowMs'>,
  mostPerDay: number,
  surelyUsedPerDay: number,
): DayLedger {
  const mostInDay = mostPerDay + surelyUsedPerDay;
  const recent = given.filter(({ timeMs }) => timeMs > nowMs - dayMs && timeMs <= nowMs);
  const givenSince = (fromMs: number): number =>
    recent.filter(({ timeMs }) => timeMs >= fromMs).reduce((sum, { rise }) => sum + Math.max(0, rise), 0) +
    planned.reduce((sum, span) => {
      const overlapMs = Math.min(span.toMs, nowMs) - Math.max(span.fromMs, fromMs);
      return overlapMs > 0 ? sum + (span.risePerDay * overlapMs) / dayMs : sum;
    }, 0);
  // The fullest span begins at a dose or where the plan changed, or now, or a day ago.
  const begins = [
    nowMs,
    nowMs - dayMs + 1,
    ...recent.map(({ timeMs }) => timeMs),
    ...planned.map(({ fromMs }) => fromMs),
  ];
  const spans = begins
    .filter((fromMs) => fromMs > nowMs - dayMs && fromMs <= nowMs)
    .map((fromMs) => ({ past: givenSince(fromMs), restDays: 1 - (nowMs - fromMs) / dayMs }));
  const givenInDay = givenSince(nowMs - dayMs);
  const mostSingle = (planPerDay: number): number =>
    Math.max(0, Math.min(...spans.map(({ past, restDays }) => mostInDay - past - planPerDay * restDays)));
  const highestPlan = Math.max(
    0,
    // What is over by itself within the hour says nothing of the plan of the days to come.
    Math.min(
      ...spans.filter(({ restDays }) => restDays > 0.05).map(({ past, restDays }) => (mostInDay - past) / restDays),
    ),
  );
  return { mostInDay, givenInDay, beyond: Math.max(0, givenInDay - mostInDay), highestPlan, mostSingle };
}
