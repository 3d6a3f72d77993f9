import type { Summary } from '#adapters/ports/store.ts';
import { metricDefaults } from '#rules/bands/metric-defaults.ts';
import { dayMs, hourMs } from '#rules/clock/durations.ts';
import type { Series } from '#rules/quality/reading.ts';
import type { ProbeReview } from '../../../model/answers/review-schema.ts';
import { tellingName } from '../../../model/config/probe-name.ts';
import type { Config, ProbeConfig } from '../../../model/config/schema.ts';
import type { Entry } from '../../../model/journal/journal.ts';
import type { AlarmBody } from './alarms-of-week.ts';
import { absent, type Figure, known } from './figure.ts';
import { measureOf, type ReviewSpan, type ReviewStore } from './review-span.ts';
import type { SeriesReview } from './series-review.ts';

const notHeard = 'no signal this week';

export type ProbeSources = {
  config: Config;
  store: ReviewStore;
  /** Of the week, for probes that were heard. */
  series: readonly SeriesReview[];
  /** Entries of kind `calibration` up to the end of the week, oldest first. */
  calibrations: readonly Entry<'calibration'>[];
  events: readonly AlarmBody[];
};

/** How the configured probes did, in their order. */
export function probesOfWeek(sources: ProbeSources, span: ReviewSpan): ProbeReview[] {
  return sources.config.probes.map((probe) => probeReview(sources, probe, span));
}

function probeReview(sources: ProbeSources, probe: ProbeConfig, span: ReviewSpan): ProbeReview {
  const { config, store, events } = sources;
  const own: Series = { system: probe.system, metric: probe.metric, probe: probe.id };
  const heard = sources.series.find(({ series }) => isSame(series, own));
  const calibratedMs = lastCalibrationMs(sources.calibrations, probe, span.asOfMs);
  const every = metricDefaults[probe.metric].calibrateEveryDays;
  const figure = (of: (heard: SeriesReview) => number): Figure =>
    heard === undefined ? absent(notHeard) : known(of(heard));
  const flat = events.filter(
    ({ rule, state, alarm, timeMs }) =>
      rule === 'flat_line' &&
      (state === 'raised' || state === 'reraised') &&
      isAbout(alarm, probe) &&
      timeMs >= span.fromMs &&
      timeMs < span.asOfMs,
  );
  return {
    ...measureOf(
      config.systems.find(({ id }) => id === probe.system),
      probe.system,
      probe.metric,
    ),
    probe: probe.id,
    name: tellingName(config, probe.system, probe.id) ?? null,
    gaps: figure(({ gaps }) => gaps.count),
    longestGapMs: figure(({ gaps }) => gaps.longestMs),
    silentMs: figure(({ gaps }) => gaps.sumMs),
    failed: failedReadings(config, store, own, span),
    calibrationAgeDays:
      calibratedMs === undefined ? absent('no calibration on record') : known((span.asOfMs - calibratedMs) / dayMs),
    calibrateEveryDays: every === undefined ? absent('no usual interval') : known(every),
    flatLines: heard === undefined ? absent(notHeard) : known(flat.length),
    longestSameMs: figure(({ longestSameMs }) => longestSameMs),
  };
}

function isSame(one: Series, other: Series): boolean {
  return one.system === other.system && one.metric === other.metric && one.probe === other.probe;
}

/** `system/metric/rule`, and the probe at the end where a system has several of the metric. */
function isAbout(alarm: string, { system, metric, id }: ProbeConfig): boolean {
  const [inSystem, ofMetric, , ...tail] = alarm.split('/');
  return inSystem === system && ofMetric === metric && (tail.length === 0 || tail.includes(id));
}

/** The newest calibration of a probe that was noted by a time, or the date of its configuration; undefined without one. */
export function lastCalibrationMs(
  calibrations: readonly Entry<'calibration'>[],
  probe: ProbeConfig,
  asOfMs: number,
): number | undefined {
  const noted = calibrations
    .filter(({ body, timeMs }) => body.probe === probe.id && timeMs < asOfMs)
    .map(({ timeMs }) => timeMs);
  const date = probe.calibration?.date;
  const configuredMs = date === undefined ? Number.NaN : Date.parse(date);
  const all = [...noted, ...(configuredMs < asOfMs ? [configuredMs] : [])];
  return all.length === 0 ? undefined : Math.max(...all);
}

/** Only hours that may hold a failed reading are read: those marked as such, and those without a good one. */
function failedReadings(config: Config, store: ReviewStore, series: Series, span: ReviewSpan): Figure {
  const keptFromMs = span.asOfMs - config.keep_readings_days * dayMs;
  if (keptFromMs > span.fromMs) return absent('single readings are not kept that long');
  const hours = new Map(store.summaries(series, 'hour', span.fromMs, span.asOfMs).map((hour) => [hour.startMs, hour]));
  const isClean = (hour: Summary | undefined) => hour !== undefined && hour.worst !== 'fail';
  let failed = 0;
  let heard = hours.size > 0;
  for (let startMs = Math.floor(span.fromMs / hourMs) * hourMs; startMs < span.asOfMs; startMs += hourMs) {
    if (isClean(hours.get(startMs))) continue;
    const readings = store.readings(series, Math.max(startMs, span.fromMs), Math.min(startMs + hourMs, span.asOfMs));
    failed += readings.filter(({ flag }) => flag === 'fail').length;
    heard ||= readings.length > 0;
  }
  return heard ? known(failed) : absent(notHeard);
}
