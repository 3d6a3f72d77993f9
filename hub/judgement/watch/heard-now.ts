import type { Store } from '#adapters/ports/store.ts';
import type { Metric } from '#rules/quantity/metric.ts';
import { valueState } from '#rules/verdicts/value-state.ts';
import type { Config } from '../../model/config/schema.ts';
import type { LastHeard, OutsideNow } from '../notices/all-well.ts';
import type { Watch } from './watch.ts';

export type HeardParts = { config: Config; store: Pick<Store, 'latest'>; watch: Pick<Watch, 'silence'> };

/** Each configured probe with its last reading: a room of dead probes must not pass for a calm one. */
export function heardProbes({ config, store, watch }: HeardParts, nowMs: number): LastHeard[] {
  return config.probes.map(({ id, system, metric }) => ({
    probe: id,
    system,
    timeMs: store.latest({ system, metric, probe: id })?.timeMs,
    isSilent: watch.silence({ system, metric, probe: id }, nowMs).isSilent,
  }));
}

/** Metrics whose newest reading lies outside its band; their alarm may still wait for it to last. */
export function outsideNow({ config, store, watch }: HeardParts, nowMs: number): OutsideNow[] {
  const isOutside = (system: string, probe: string, metric: Metric, band: { low: number; high: number }) => {
    const series = { system, metric, probe };
    const last = store.latest(series);
    if (last === undefined) return false;
    return valueState({ ...last, band, isSilent: watch.silence(series, nowMs).isSilent }) === 'outside';
  };
  return config.systems.flatMap(({ id, name, bands }) => {
    const probes = config.probes.filter(({ system }) => system === id);
    return (
      (Object.entries(bands) as [Metric, { low: number; high: number }][])
        // Not only the probe's own metric: salinity comes from the conductivity of the same probe.
        .filter(([metric, band]) => probes.some((probe) => isOutside(id, probe.id, metric, band)))
        .map(([metric]) => ({ system: id, systemName: name, metric }))
    );
  });
}
