import type { Store } from '#adapters/ports/store.ts';
import type { Metric } from '#rules/quantity/metric.ts';
import type { Config } from '../../model/config/schema.ts';
import { type LastHeard, type OutsideNow, oldReadingMs } from '../notices/all-well.ts';

/** Each configured probe with its last reading: a room of dead probes must not pass for a calm one. */
export function heardProbes(config: Config, store: Pick<Store, 'latest'>): LastHeard[] {
  return config.probes.map(({ id, system, metric }) => ({
    ...{ probe: id, system },
    timeMs: store.latest({ system, metric, probe: id })?.timeMs,
  }));
}

/** Metrics whose newest reading lies outside its band; their alarm may still wait for it to last. */
export function outsideNow(config: Config, store: Pick<Store, 'latest'>, nowMs: number): OutsideNow[] {
  const isOutside = (system: string, probe: string, metric: Metric, band: { low: number; high: number }) => {
    const last = store.latest({ system, metric, probe });
    if (last === undefined || last.flag === 'fail' || nowMs - last.timeMs > oldReadingMs) return false;
    return last.value < band.low || last.value > band.high;
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
