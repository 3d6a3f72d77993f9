import type { Reading } from '#rules/quality/reading.ts';
import { defaultChecks, emptyStreamState } from '#rules/quality/stream-check.ts';
import { isMetric, type Metric } from '#rules/quantity/metric.ts';
import type { Config } from '../../model/config/schema.ts';
import { type BoundProbe, bindProbes } from './bound-probe.ts';
import { withQuality } from './check-quality.ts';
import { derivedReadings } from './derive.ts';
import { always, timelineOf } from './timeline.ts';

export type UnknownStream = 'unknown_system' | 'unknown_metric';

export type RecordedProbes = {
  /** The probe behind a recorded stream: that of the configuration, else one that is known by its metric alone. */
  of(system: string, metric: string): BoundProbe | UnknownStream;
};

/**
 * Recorded readings name a system and a metric and no probe. They are in store units and were calibrated when they were
 * recorded, so they enter the pipeline at the quality stage.
 */
export function recordedProbes(config: Config): RecordedProbes {
  const probes = new Map<string, Map<string, BoundProbe | undefined>>();
  for (const system of config.systems) probes.set(system.id, new Map());
  for (const probe of bindProbes(config).probes) {
    const ofSystem = probes.get(probe.series.system);
    if (ofSystem !== undefined && !ofSystem.has(probe.series.metric)) ofSystem.set(probe.series.metric, probe);
  }
  return {
    of(system, metric) {
      const ofSystem = probes.get(system);
      if (ofSystem === undefined) return 'unknown_system';
      if (!ofSystem.has(metric))
        ofSystem.set(metric, isMetric(metric) ? unnamedProbe(config, system, metric, ofSystem) : undefined);
      return ofSystem.get(metric) ?? 'unknown_metric';
    },
  };
}

/** A recorded value through the stages from the quality check on: the reading, then what is derived from it. */
export function recordedReadings(probe: BoundProbe, value: number, timeMs: number): Reading[] {
  const reading = withQuality(probe, value, timeMs);
  return probe.derivation === undefined ? [reading] : [reading, ...derivedReadings(probe, reading)];
}

function unnamedProbe(
  config: Config,
  system: string,
  metric: Metric,
  ofSystem: Map<string, BoundProbe | undefined>,
): BoundProbe {
  // A recorded salinity is what the system's conductivity probe gave, when there is one.
  const conductivity =
    metric === 'salinity' || metric === 'specific_gravity' ? conductivityProbe(config, system) : undefined;
  const id = conductivity ?? metric;
  const series = { system, metric, probe: id };
  const bound: BoundProbe = {
    id,
    series,
    unit: undefined,
    calibration: timelineOf([always({ slope: 1, offset: 0 })]),
    electrode: undefined,
    lastWire: undefined,
    checks: defaultChecks(metric),
    streamState: emptyStreamState(),
    derivation: undefined,
    lastGood: undefined,
  };
  if (metric === 'conductivity') {
    bound.derivation = {
      // Asked at each reading, because the temperature's stream may begin after this one.
      get temperatureProbe() {
        return ofSystem.get('temperature');
      },
      // Records are sparser than probes: a quarter of an hour of drift in a tank's temperature is small.
      temperatureAtMostMsOld: 900_000,
      compensation_percent_per_C: undefined,
      salinity: { ...series, metric: 'salinity' },
      specificGravity: { ...series, metric: 'specific_gravity' },
    };
  }
  return bound;
}

function conductivityProbe(config: Config, system: string): string | undefined {
  return config.probes.find(
    (probe) =>
      probe.system === system && (probe.metric === 'conductivity' || probe.metric === 'specific_conductance_25'),
  )?.id;
}
