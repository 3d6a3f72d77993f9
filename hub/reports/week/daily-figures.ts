import type { Summary } from '#adapters/ports/store.ts';
import type { Band } from '#rules/bands/watched-room.ts';
import type { LocalDay } from '../../model/calendar/iso-week.ts';

const msPerMinute = 60_000;

/** What one series did on one day, in the metric's store unit. Without any reading there is no min, mean and max. */
export type DailyFigures = {
  min?: number;
  /** Of the minutes that have a reading, each with the same weight: a probe that speaks faster for an hour does not pull it. */
  mean?: number;
  max?: number;
  /** Share of the minutes with a reading whose mean lies inside the band, edges included, 0 to 1; absent without a band. */
  shareInBand?: number;
  /** How many readings that did not fail the day has. */
  readings: number;
  /** Stretches of the day without a reading that are longer than the allowed pause. */
  gaps: number;
  longestGapMs: number;
};

/**
 * The figures of a day from its minutes.
 *
 * @param minutes  of one series, oldest first, those that lie in the day; minutes without a reading are absent
 * @param day      of 23 to 25 hours; cut at now when it is not over, so that what is to come is no gap
 * @param pauseMs  a stretch without readings up to this long is no gap
 */
export function dailyFigures(
  minutes: readonly Summary[],
  day: Pick<LocalDay, 'startMs' | 'endMs'>,
  band: Pick<Band, 'low' | 'high'> | undefined,
  pauseMs: number,
): DailyFigures {
  const figures: DailyFigures = { readings: 0, gaps: 0, longestGapMs: 0 };
  let heardUntilMs = day.startMs;
  let sumOfMeans = 0;
  let inBand = 0;
  for (const minute of minutes) {
    figures.readings += minute.count;
    figures.min = Math.min(figures.min ?? minute.min, minute.min);
    figures.max = Math.max(figures.max ?? minute.max, minute.max);
    sumOfMeans += minute.mean;
    if (band !== undefined && minute.mean >= band.low && minute.mean <= band.high) inBand++;
    noteGap(figures, minute.startMs - heardUntilMs, pauseMs);
    heardUntilMs = minute.startMs + msPerMinute;
  }
  noteGap(figures, day.endMs - heardUntilMs, pauseMs);
  if (minutes.length === 0) return figures;
  figures.mean = sumOfMeans / minutes.length;
  if (band !== undefined) figures.shareInBand = inBand / minutes.length;
  return figures;
}

function noteGap(figures: DailyFigures, lengthMs: number, pauseMs: number): void {
  if (lengthMs <= pauseMs) return;
  figures.gaps++;
  figures.longestGapMs = Math.max(figures.longestGapMs, lengthMs);
}
