import type { Summary } from '#adapters/ports/store.ts';
import { minuteMs } from '#rules/clock/durations.ts';
import type { Series } from '#rules/quality/reading.ts';
import type { BandReview, SwingReview } from '../../../model/answers/review-schema.ts';
import { tellingName } from '../../../model/config/probe-name.ts';
import type { Config } from '../../../model/config/schema.ts';
import { dailyFigures } from '../daily-figures.ts';
import { pauseOf } from '../weekly-figures.ts';
import { absent, type Figure, known } from './figure.ts';
import { measureOf, type ReviewSpan, type ReviewStore } from './review-span.ts';
import { fiveMinuteLevels, largestSwingWithinHour, swingOf } from './swings.ts';

/** Minutes further apart than this are no one stretch on a number. */
const mostPauseMs = 15 * minuteMs;
const notHeard = 'no reading this week';

export type BandOfWeek = {
  low: number;
  high: number;
  most_per_hour?: number | undefined;
  most_per_day?: number | undefined;
};

/** What one stream did in the week. */
export type SeriesReview = {
  series: Series;
  bands: BandReview;
  swings: SwingReview;
  gaps: { count: number; longestMs: number; sumMs: number };
  /** The longest time on one number. */
  longestSameMs: number;
};

/** A stream with a reading in the week; undefined without one. */
export function seriesReview(
  config: Config,
  store: ReviewStore,
  series: Series,
  band: BandOfWeek | undefined,
  span: ReviewSpan,
): SeriesReview | undefined {
  const minutes = store.summaries(series, 'minute', span.fromMs, span.asOfMs);
  if (minutes.length === 0) return undefined;
  const system = config.systems.find(({ id }) => id === series.system);
  const measure = {
    ...measureOf(system, series.system, series.metric),
    probe: series.probe,
    name: tellingName(config, series.system, series.probe) ?? null,
  };
  const gaps = gapsOf(minutes, span.fromMs, span.asOfMs, pauseOf(config, series.probe));
  return {
    series,
    bands: { ...measure, ...bandFigures(minutes, band, span, gaps.sumMs), hours: hoursOf(store, series, span) },
    swings: { ...measure, ...swingFigures(minutes, band, span) },
    gaps,
    longestSameMs: longestSameMs(minutes),
  };
}

type BandFigures = Omit<BandReview, keyof ReturnType<typeof measureOf> | 'probe' | 'name' | 'hours'>;

function bandFigures(
  minutes: readonly Summary[],
  band: BandOfWeek | undefined,
  span: ReviewSpan,
  silentMs: number,
): BandFigures {
  // Real time: a week in which the clocks change has 167 or 169 hours.
  const wholeMs = span.asOfMs - span.fromMs;
  const heardMinutes = (wholeMs - silentMs) / minuteMs;
  const day = { startMs: span.fromMs, endMs: span.asOfMs };
  const { min, mean, max, shareInBand } = dailyFigures(minutes, day, band, Number.MAX_SAFE_INTEGER);
  const of = (value: number | undefined, why: string): Figure => (value === undefined ? absent(why) : known(value));
  const noBand = 'no band is set';
  return {
    band: band === undefined ? null : { low: band.low, high: band.high },
    shareInBand: of(shareInBand, noBand),
    minutesHeard: Math.round(heardMinutes),
    minutesOutside: of(shareInBand === undefined ? undefined : Math.round(heardMinutes * (1 - shareInBand)), noBand),
    shareHeard: known((wholeMs - silentMs) / wholeMs),
    min: of(min, notHeard),
    mean: of(mean, notHeard),
    max: of(max, notHeard),
  };
}

function hoursOf(store: ReviewStore, series: Series, span: ReviewSpan): BandReview['hours'] {
  return store
    .summaries(series, 'hour', span.fromMs, span.asOfMs)
    .map(({ startMs, min, mean, max }) => ({ timeMs: startMs, min, mean, max }));
}

type SwingFigures = Omit<SwingReview, keyof ReturnType<typeof measureOf> | 'probe' | 'name'>;

function swingFigures(minutes: readonly Summary[], band: BandOfWeek | undefined, span: ReviewSpan): SwingFigures {
  const levels = fiveMinuteLevels(minutes);
  const days = span.days.map(({ date, startMs, endMs }) => ({
    date,
    swing: swingOf(levels.filter(({ timeMs }) => timeMs >= startMs && timeMs < endMs)),
  }));
  const largest = days.reduce<{ date: string; swing: number } | undefined>(
    (best, { date, swing }) =>
      swing === undefined || (best !== undefined && best.swing >= swing) ? best : { date, swing },
    undefined,
  );
  const ofHour = largestSwingWithinHour(levels);
  const limit = (most: number | undefined) => (most === undefined ? absent('no limit is set') : known(most));
  const few = 'fewer than ten minutes of readings in a day';
  return {
    largestOfDay: largest === undefined ? absent(few) : known(largest.swing),
    onDate: largest?.date ?? null,
    mostPerDay: limit(band?.most_per_day),
    largestOfHour: ofHour === undefined ? absent('no hour has two readings') : known(ofHour.swing),
    hourFromMs: ofHour?.fromMs ?? null,
    mostPerHour: limit(band?.most_per_hour),
    days: days.map(({ date, swing }) => ({ date, swing: swing === undefined ? absent(few) : known(swing) })),
  };
}

/** Stretches without a reading that are longer than the pause. */
export function gapsOf(
  minutes: readonly Summary[],
  fromMs: number,
  toMs: number,
  pauseMs: number,
): { count: number; longestMs: number; sumMs: number } {
  const gaps = { count: 0, longestMs: 0, sumMs: 0 };
  const note = (lengthMs: number): void => {
    if (lengthMs <= pauseMs) return;
    gaps.count++;
    gaps.sumMs += lengthMs;
    gaps.longestMs = Math.max(gaps.longestMs, lengthMs);
  };
  let heardUntilMs = fromMs;
  for (const { startMs } of minutes) {
    note(startMs - heardUntilMs);
    heardUntilMs = startMs + minuteMs;
  }
  note(toMs - heardUntilMs);
  return gaps;
}

function longestSameMs(minutes: readonly Summary[]): number {
  let longest = 0;
  let value: number | undefined;
  let sinceMs = 0;
  let heardUntilMs = 0;
  for (const { startMs, min, max } of minutes) {
    // What was not heard may have moved meanwhile.
    const isAfterGap = startMs - heardUntilMs > mostPauseMs;
    heardUntilMs = startMs + minuteMs;
    if (min !== max) value = undefined;
    else if (min !== value || isAfterGap) {
      value = min;
      sinceMs = startMs;
    }
    if (value !== undefined) longest = Math.max(longest, startMs + minuteMs - sinceMs);
  }
  return longest;
}
