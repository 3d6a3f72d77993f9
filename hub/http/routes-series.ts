import { dayMs, hourMs } from '#rules/clock/durations.ts';
import type { Series } from '#rules/quality/reading.ts';
import type { Metric } from '#rules/quantity/metric.ts';
import { mostReadings, seriesApi } from '../api/series.ts';
import { mainSeries } from '../model/config/main-series.ts';
import { noSystem } from '../model/refusals/no-system.ts';
import { Refused } from '../model/refusals/refused.ts';
import type { HttpParts, TypedServer } from './parts.ts';
import { createBandHistory } from './views/band-history.ts';
import { marksOf } from './views/marks.ts';
import { plotOf } from './views/plot.ts';

/** Beyond this span hours are fine enough for a screen, and minutes too many to read. */
const minutesUpToMs = 3 * dayMs;
const readingsUpToMs = 3 * dayMs;

export function addSeriesRoutes(server: TypedServer, parts: HttpParts): void {
  const bands = createBandHistory(parts.config, parts.store, () => parts.clock.nowMs());

  /** That of a probe, or the one that stands for the metric. @throws Refused unknown_series */
  function seriesOf(system: string, metric: Metric, probe: string | undefined): Series {
    if (probe !== undefined) return { system, metric, probe };
    const series = mainSeries(parts.config, parts.store.series(), system, metric);
    if (series === undefined) throw new Refused('unknown_series', `no ${metric} of "${system}" so far`);
    return series;
  }

  server.get('/api/series/:system/:metric', { schema: seriesApi['GET /api/series/:system/:metric'] }, (request) => {
    const { fromMs, toMs } = spanOf(request.query);
    if (!(toMs > fromMs)) throw new Refused('invalid', '`to` must be after `from`');
    const series = seriesOf(request.params.system, request.params.metric, request.query.probe);
    const wantedMs = (toMs - fromMs) / request.query.points;
    const resolution = wantedMs >= 2 * dayMs ? 'day' : toMs - fromMs > minutesUpToMs ? 'hour' : 'minute';
    const stepMs = Math.max(resolution === 'minute' ? 60_000 : hourMs, wantedMs);
    const points = plotOf(parts.store.summaries(series, resolution, fromMs, toMs), stepMs);
    return { probe: series.probe, stepMs, points };
  });

  server.get('/api/readings/:system/:metric', { schema: seriesApi['GET /api/readings/:system/:metric'] }, (request) => {
    const { fromMs, toMs } = spanOf(request.query);
    const series = seriesOf(request.params.system, request.params.metric, request.query.probe);
    const isWide = !(toMs > fromMs) || toMs - fromMs > readingsUpToMs;
    const readings = isWide ? [] : parts.store.readings(series, fromMs, toMs, mostReadings + 1);
    const isTooMany = isWide || readings.length > mostReadings;
    return {
      probe: series.probe,
      most: mostReadings,
      isTooMany,
      readings: isTooMany ? [] : readings.map(({ timeMs, value, flag }) => ({ time: timeMs, value, flag })),
    };
  });

  server.get('/api/bands/:system/:metric', { schema: seriesApi['GET /api/bands/:system/:metric'] }, (request) => {
    const { system, metric } = request.params;
    const { fromMs, toMs } = spanOf(request.query);
    return bands.of(system, metric, fromMs, toMs);
  });

  server.get('/api/marks/:system', { schema: seriesApi['GET /api/marks/:system'] }, (request) => {
    const { system: id } = request.params;
    const system = parts.config.systems.find((each) => each.id === id);
    if (system === undefined) throw noSystem(id, parts.config.systems);
    const { fromMs, toMs } = spanOf(request.query);
    return marksOf(parts.store, system, fromMs, toMs);
  });
}

function spanOf({ from, to }: { from: string; to: string }): { fromMs: number; toMs: number } {
  return { fromMs: Date.parse(from), toMs: Date.parse(to) };
}
