import type { Store } from '#adapters/ports/store.ts';
import { type Metric, metricFacts } from '#rules/quantity/metric.ts';
import { daysOfWeek, type IsoWeek, type LocalDay, weekBounds } from '../../../model/calendar/iso-week.ts';
import type { Config, SystemConfig } from '../../../model/config/schema.ts';

export type ReviewStore = Pick<Store, 'series' | 'summaries' | 'readings' | 'journal' | 'document' | 'commit'>;

/** The week that is looked at, cut at now while it runs. */
export type ReviewSpan = {
  week: IsoWeek;
  zone: string;
  /** UTC milliseconds; `toMs` exclusive, the end of the whole week. */
  fromMs: number;
  toMs: number;
  /** What is known is known at this time: the end of the week, or now; never before `fromMs`. */
  asOfMs: number;
  isOver: boolean;
  /** Those that have begun, the running one cut at `asOfMs`. */
  days: LocalDay[];
};

export function reviewSpan(config: Config, week: IsoWeek, nowMs: number): ReviewSpan {
  const zone = config.site.timezone;
  const { startMs: fromMs, endMs: toMs } = weekBounds(week, zone);
  const asOfMs = Math.max(fromMs, Math.min(toMs, nowMs));
  const days = daysOfWeek(week, zone)
    .filter((day) => day.startMs < asOfMs)
    .map((day) => ({ ...day, endMs: Math.min(day.endMs, asOfMs) }));
  return { week, zone, fromMs, toMs, asOfMs, isOver: nowMs >= toMs, days };
}

/** Of a metric in a system: what every line of the review says first. */
export function measureOf(system: SystemConfig | undefined, systemId: string, metric: Metric) {
  const { label, unit, decimals } = metricFacts[metric];
  return { system: systemId, systemName: system?.name ?? systemId, metric, label, unit, decimals };
}
