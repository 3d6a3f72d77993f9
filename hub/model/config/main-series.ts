import type { Series } from '#rules/quality/reading.ts';
import type { Metric } from '#rules/quantity/metric.ts';
import type { Config } from './schema.ts';

/** The stream that stands for a metric: of the first configured probe that has one, else the first the store knows. */
export function mainSeries(
  config: Config,
  known: readonly Series[],
  system: string,
  metric: Metric,
): Series | undefined {
  const candidates = known.filter((series) => series.system === system && series.metric === metric);
  const order = new Map(config.probes.map((probe, index) => [probe.id, index]));
  return candidates.sort((a, b) => (order.get(a.probe) ?? Infinity) - (order.get(b.probe) ?? Infinity))[0];
}
