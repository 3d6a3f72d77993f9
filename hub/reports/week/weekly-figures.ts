import type { Store, Summary } from '#adapters/ports/store.ts';
import type { Series } from '#rules/quality/reading.ts';
import { daysOfWeek, type IsoWeek, type LocalDay } from '../../model/calendar/iso-week.ts';
import type { Config } from '../../model/config/schema.ts';
import { type DailyFigures, dailyFigures } from './daily-figures.ts';

/** Probes of a tank speak every minute or oftener; a quarter of an hour of silence is worth a look. common practice, no published source */
const usualPauseMs = 15 * 60_000;

export type SeriesWeek = { series: Series; days: { day: LocalDay; figures: DailyFigures }[] };

/**
 * The days of a week, for each series that has a reading in it, in the order of the store.
 *
 * @param nowMs  days that are still to come are left out, and the one that is running ends here
 */
export function weeklyFigures(
  config: Config,
  store: Pick<Store, 'series' | 'summaries'>,
  week: IsoWeek,
  nowMs: number,
): SeriesWeek[] {
  const days = daysOfWeek(week, config.site.timezone).filter((day) => day.startMs < nowMs);
  return store.series().flatMap((series) => {
    const heard = days.map((day) => ({ day, minutes: store.summaries(series, 'minute', day.startMs, day.endMs) }));
    if (heard.every(({ minutes }) => minutes.length === 0)) return [];
    return [{ series, days: heard.map((each) => figuresOfDay(config, series, each, nowMs)) }];
  });
}

function figuresOfDay(
  config: Config,
  series: Series,
  { day, minutes }: { day: LocalDay; minutes: Summary[] },
  nowMs: number,
): { day: LocalDay; figures: DailyFigures } {
  const band = config.systems.find((system) => system.id === series.system)?.bands[series.metric];
  const part = { startMs: day.startMs, endMs: Math.min(day.endMs, nowMs) };
  return { day, figures: dailyFigures(minutes, part, band, pauseOf(config, series.probe)) };
}

/** How long a probe may be silent before that is a gap, milliseconds. */
export function pauseOf(config: Config, probeId: string): number {
  const everyMs = (config.probes.find((probe) => probe.id === probeId)?.every_seconds ?? 0) * 1000;
  return Math.max(usualPauseMs, 3 * everyMs);
}
