import type { KeptReading, Store } from '#adapters/ports/store.ts';
import { hourMs } from '#rules/clock/durations.ts';
import type { Series } from '#rules/quality/reading.ts';
import { metrics } from '#rules/quantity/metric.ts';
import { mainSeries } from '../../model/config/main-series.ts';
import type { Config } from '../../model/config/schema.ts';

/** As many hours are in memory at a time. */
const spanMs = hourMs;

/** Rows of one span of time, oldest first. */
export type StoredRow = { timeMs: number; series: Series; value: number };

/**
 * The streams that a record without names of probes can hold: for each metric of a system that of its first configured
 * probe. `others` are of further probes for the same metric, which would be mixed up with it.
 */
export function streamsToExport(
  config: Config,
  known: readonly Series[],
  system: string | undefined,
): { streams: Series[]; others: Series[] } {
  const wanted = config.systems.filter(({ id }) => system === undefined || id === system);
  // Temperature leads: where a conductivity has the same time, its salinity needs it.
  const inOrder = metrics.toSorted((a, b) => Number(b === 'temperature') - Number(a === 'temperature'));
  const streams = wanted.flatMap(({ id }) =>
    inOrder.map((metric) => mainSeries(config, known, id, metric)).filter((series) => series !== undefined),
  );
  const others = known.filter((series) => wanted.some(({ id }) => id === series.system) && !streams.includes(series));
  return { streams, others };
}

/**
 * Raw readings of [fromMs, toMs) as the store has them, in the metric's store unit, an hour at a time; failed ones too, since
 * whoever judges them again must see what the probe sent. Readings of the same time are in the order of `streams`.
 */
export function* storedReadings(
  store: Pick<Store, 'readings'>,
  streams: readonly Series[],
  fromMs: number,
  toMs: number,
): Generator<StoredRow[], void, undefined> {
  const firstFrom = (timeMs: number) =>
    Math.min(
      ...streams.map((series) => store.readings(series, timeMs, toMs, 1)[0]?.timeMs ?? Number.POSITIVE_INFINITY),
    );
  for (let startMs = firstFrom(fromMs); startMs < toMs; ) {
    const endMs = Math.min(startMs + spanMs, toMs);
    const rows = streams.flatMap((series) =>
      store.readings(series, startMs, endMs).map(({ timeMs, value }: KeptReading) => ({ timeMs, series, value })),
    );
    if (rows.length > 0) yield rows.sort((a, b) => a.timeMs - b.timeMs);
    // A hub that was off for months is passed over in one step.
    startMs = rows.length > 0 ? endMs : firstFrom(endMs);
  }
}
