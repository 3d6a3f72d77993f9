import { hourMs } from '#rules/clock/durations.ts';
import { type Metric, metricFacts, metrics, unitEnding } from '#rules/quantity/metric.ts';
import { type LocalDay, localTimeText } from '../../model/calendar/iso-week.ts';
import type { DailyFigures } from './daily-figures.ts';
import type { SeriesWeek } from './weekly-figures.ts';

export type Cell = string | number;

/**
 * The days of a week as a table: a row for each day and system, a group of columns for each metric that was heard. Where
 * a system has several probes of one metric, the second ones stand in a further row of the same day; `probes` tells
 * which probe each row shows.
 *
 * @returns the header first
 */
export function dailyTable(weeks: readonly SeriesWeek[], days: readonly LocalDay[], zone: string): Cell[][] {
  const heard = metrics.filter((metric) => weeks.some(({ series }) => series.metric === metric));
  const systems = [...new Set(weeks.map(({ series }) => series.system))];
  const rows = days.flatMap((day, index) =>
    systems.flatMap((system) => {
      const ofSystem = weeks.filter(({ series }) => series.system === system);
      return rowsOfSystem(ofSystem).map((row) => [
        day.date,
        localTimeText(day.startMs, zone),
        (day.endMs - day.startMs) / hourMs,
        system,
        row.map(({ series }) => `${series.metric}=${series.probe}`).join(' '),
        ...heard.flatMap((metric) => {
          const figures = row.find(({ series }) => series.metric === metric)?.days[index]?.figures;
          return figureCells(metric, figures);
        }),
      ]);
    }),
  );
  return [['date', 'day_start', 'day_length_hours', 'system', 'probes', ...heard.flatMap(columnNames)], ...rows];
}

/** First the first probe of each metric, then the second of each that has one. */
function rowsOfSystem(weeks: readonly SeriesWeek[]): SeriesWeek[][] {
  const rows: SeriesWeek[][] = [];
  for (const week of weeks) {
    const row = rows.find((begun) => begun.every(({ series }) => series.metric !== week.series.metric));
    if (row === undefined) rows.push([week]);
    else row.push(week);
  }
  return rows;
}

function columnNames(metric: Metric): string[] {
  const unit = unitEnding[metric];
  return [
    `${metric}_min${unit}`,
    `${metric}_mean${unit}`,
    `${metric}_max${unit}`,
    `${metric}_inside_band_percent`,
    `${metric}_readings`,
    `${metric}_gaps`,
    `${metric}_longest_gap_minutes`,
  ];
}

function figureCells(metric: Metric, figures: DailyFigures | undefined): Cell[] {
  if (figures === undefined) return ['', '', '', '', '', '', ''];
  const { min, mean, max, shareInBand, readings, gaps, longestGapMs } = figures;
  // Two digits more than a screen shows: a mean of many readings carries them.
  const decimals = metricFacts[metric].decimals + 2;
  return [
    rounded(min, decimals),
    rounded(mean, decimals),
    rounded(max, decimals),
    rounded(shareInBand === undefined ? undefined : shareInBand * 100, 2),
    readings,
    gaps,
    rounded(longestGapMs / 60_000, 1),
  ];
}

function rounded(value: number | undefined, decimals: number): Cell {
  return value === undefined ? '' : Number(value.toFixed(decimals));
}
