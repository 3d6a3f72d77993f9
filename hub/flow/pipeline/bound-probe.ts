import type { Series } from '#rules/quality/reading.ts';
import { defaultChecks, emptyStreamState, type StreamChecks, type StreamState } from '#rules/quality/stream-check.ts';
import type { Metric } from '#rules/quantity/metric.ts';
import type { Config, ProbeConfig } from '../../model/config/schema.ts';
import type { Correction } from '../../model/journal/calibration-schema.ts';
import { idealElectrode } from './correction.ts';
import { always, type Timeline, timelineOf } from './timeline.ts';

/** A probe of the configuration with all that the stages need to handle its next reading without a search. */
export type BoundProbe = {
  id: string;
  series: Series;
  /** As the probe sends it when the payload does not say; the metric's own unit when undefined. */
  unit: string | undefined;
  /** Which correction holds for a reading, by its time: replaced whole when a calibration comes. */
  calibration: Timeline;
  electrode: ElectrodeWire | undefined;
  /** The last number on the wire, in the unit in which corrections take it: what a person calibrates against. */
  lastWire: { timeMs: number; value: number } | undefined;
  checks: StreamChecks;
  /** Owned by the quality stage, which may change it in place. */
  streamState: StreamState;
  derivation: Derivation | undefined;
  /** The last good value, kept for whoever derives from this probe. */
  lastGood: { timeMs: number; value: number } | undefined;
};

/** What a pH probe sends, and the probe of the temperature that its electrode has. */
export type ElectrodeWire = {
  signal: 'ph' | 'mV';
  meterTemperature_C: number;
  temperatureProbe: BoundProbe | undefined;
  temperatureAtMostMsOld: number;
};

/** What is computed from a conductivity probe, and the probe of the water's temperature that it takes. */
export type Derivation = {
  temperatureProbe: BoundProbe | undefined;
  temperatureAtMostMsOld: number;
  /** For a probe that shows a value referred to 25 °C by a linear coefficient; undefined for raw conductivity. */
  compensation_percent_per_C: number | undefined;
  salinity: Series;
  specificGravity: Series;
};

export type Bindings = {
  /** By `source` and then `channel` of an observation. */
  byChannel: Map<string, Map<string, BoundProbe[]>>;
  probes: BoundProbe[];
};

function sourceOf(probe: ProbeConfig): { source: string; channel: string } {
  if (probe.serial) return { source: `serial:${probe.serial.port}`, channel: probe.serial.channel };
  return { source: `mqtt:${probe.mqtt?.topic ?? ''}`, channel: probe.mqtt?.channel ?? '' };
}

/** How the configuration alone corrects a probe. */
export function configuredCorrection(probe: ProbeConfig): Correction {
  const { slope = 1, offset = 0 } = probe.calibration ?? {};
  if (probe.metric !== 'ph' || probe.signal !== 'mV') return { slope, offset };
  return { electrode: { signal: 'mV', ...idealElectrode }, slope, offset };
}

function bind(probe: ProbeConfig): BoundProbe {
  return {
    id: probe.id,
    series: { system: probe.system, metric: probe.metric, probe: probe.id },
    unit: probe.unit,
    calibration: timelineOf([always(configuredCorrection(probe))]),
    electrode: undefined,
    lastWire: undefined,
    checks: defaultChecks(probe.metric),
    streamState: emptyStreamState(),
    derivation: undefined,
    lastGood: undefined,
  };
}

const conductivityMetrics: readonly Metric[] = ['conductivity', 'specific_conductance_25'];

/** The alpha of a specific conductance probe that does not state one: what most such probes are built with. */
const usualCompensation_percent_per_C = 2;

function temperatureProbeOf(probe: ProbeConfig, all: Map<string, BoundProbe>): BoundProbe | undefined {
  const named = probe.temperature_probe === undefined ? undefined : all.get(probe.temperature_probe);
  const isOfSameWater = ({ series }: BoundProbe) => series.system === probe.system && series.metric === 'temperature';
  return named ?? [...all.values()].find(isOfSameWater);
}

function electrodeOf(probe: ProbeConfig, all: Map<string, BoundProbe>): ElectrodeWire | undefined {
  if (probe.metric !== 'ph') return undefined;
  return {
    signal: probe.signal ?? 'ph',
    meterTemperature_C: probe.meter_temperature_C ?? idealElectrode.meterTemperature_C,
    temperatureProbe: temperatureProbeOf(probe, all),
    temperatureAtMostMsOld: probe.temperature_at_most_seconds_old * 1000,
  };
}

function derivationOf(probe: ProbeConfig, bound: BoundProbe, all: Map<string, BoundProbe>): Derivation | undefined {
  if (!conductivityMetrics.includes(probe.metric)) return undefined;
  const compensation =
    probe.compensation_percent_per_C ??
    (probe.metric === 'specific_conductance_25' ? usualCompensation_percent_per_C : undefined);
  return {
    temperatureProbe: temperatureProbeOf(probe, all),
    temperatureAtMostMsOld: probe.temperature_at_most_seconds_old * 1000,
    compensation_percent_per_C: compensation,
    salinity: { ...bound.series, metric: 'salinity' },
    specificGravity: { ...bound.series, metric: 'specific_gravity' },
  };
}

/** Turns the probes of the configuration into bindings; cross-checks have made sure that what they name is there. */
export function bindProbes(config: Config): Bindings {
  const byId = new Map(config.probes.map((probe) => [probe.id, bind(probe)]));
  const byChannel: Bindings['byChannel'] = new Map();
  for (const probe of config.probes) {
    const bound = byId.get(probe.id);
    if (bound === undefined) continue;
    bound.derivation = derivationOf(probe, bound, byId);
    bound.electrode = electrodeOf(probe, byId);
    const { source, channel } = sourceOf(probe);
    const ofSource = byChannel.get(source) ?? new Map<string, BoundProbe[]>();
    byChannel.set(source, ofSource);
    ofSource.set(channel, [...(ofSource.get(channel) ?? []), bound]);
  }
  return { byChannel, probes: [...byId.values()] };
}
