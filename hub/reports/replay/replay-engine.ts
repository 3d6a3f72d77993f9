import type { AlarmEvent } from '#rules/bands/alarm-event.ts';
import type { Evidence } from '#rules/bands/evidence.ts';
import { emptyRoomState, type RoomRules, type RoomState, rulesForRoom, stepRoom } from '#rules/bands/room.ts';
import { defaultChecks, emptyStreamState } from '#rules/quality/stream-check.ts';
import { isMetric, type Metric } from '#rules/quantity/metric.ts';
import { type BoundProbe, bindProbes } from '../../flow/pipeline/bound-probe.ts';
import { withQuality } from '../../flow/pipeline/check-quality.ts';
import { derivedReadings } from '../../flow/pipeline/derive.ts';
import { always, timelineOf } from '../../flow/pipeline/timeline.ts';
import type { Config } from '../../model/config/schema.ts';
import { watchedRoomFromConfig } from '../../model/config/watched-room.ts';

/** The live hub ticks every five seconds; recorded time passes in steps that a delay of a minute still sees well. */
const tickMs = 15_000;

export type Replay = {
  /** Readings must come in order of time; one that is late is judged at the time the replay has reached. */
  reading(timeMs: number, system: string, metric: string, value: number): void;
  offer(evidence: Evidence, timeMs: number): void;
  /** Lets recorded time pass up to here. */
  passTo(timeMs: number): void;
  counts: { readings: number; unknownSystem: number; unknownMetric: number };
};

/**
 * Recorded readings through the pipeline's own stages and the very same rules, with the recorded clock. They are in store
 * units and were calibrated when they were recorded, so they enter at the quality stage.
 */
export function createReplay(config: Config, onEvents: (events: readonly AlarmEvent[]) => void): Replay {
  const rules: RoomRules = rulesForRoom(watchedRoomFromConfig(config));
  let state: RoomState = emptyRoomState();
  let reachedMs = Number.NEGATIVE_INFINITY;
  const counts = { readings: 0, unknownSystem: 0, unknownMetric: 0 };
  const probes = new Map<string, Map<string, BoundProbe | undefined>>();
  for (const system of config.systems) probes.set(system.id, new Map());
  for (const probe of bindProbes(config).probes) {
    const ofSystem = probes.get(probe.series.system);
    if (ofSystem !== undefined && !ofSystem.has(probe.series.metric)) ofSystem.set(probe.series.metric, probe);
  }

  function step(evidence: Evidence, nowMs: number): void {
    const result = stepRoom(rules, state, evidence, nowMs);
    state = result.state;
    if (result.events.length > 0) onEvents(result.events);
  }

  function passTo(timeMs: number): void {
    if (reachedMs === Number.NEGATIVE_INFINITY) reachedMs = timeMs;
    while (timeMs - reachedMs >= tickMs) {
      reachedMs += tickMs;
      step({ is: 'time' }, reachedMs);
    }
  }

  /** A stream that no probe of the configuration names is bound by its metric, as the rules learn it. */
  function bind(system: string, ofSystem: Map<string, BoundProbe | undefined>, metric: string): BoundProbe | undefined {
    const bound = isMetric(metric) ? unnamedProbe(config, system, metric, ofSystem) : undefined;
    ofSystem.set(metric, bound);
    return bound;
  }

  return {
    counts,
    passTo,
    reading(timeMs, system, metric, value) {
      const ofSystem = probes.get(system);
      if (ofSystem === undefined) {
        counts.unknownSystem += 1;
        return;
      }
      const probe = ofSystem.get(metric) ?? bind(system, ofSystem, metric);
      if (probe === undefined) {
        counts.unknownMetric += 1;
        return;
      }
      passTo(timeMs);
      const nowMs = Math.max(timeMs, reachedMs);
      const reading = withQuality(probe, value, timeMs);
      step({ is: 'reading', reading }, nowMs);
      if (probe.derivation !== undefined) {
        for (const derived of derivedReadings(probe, reading)) step({ is: 'reading', reading: derived }, nowMs);
      }
      counts.readings += 1;
    },
    offer(evidence, timeMs) {
      passTo(timeMs);
      step(evidence, Math.max(timeMs, reachedMs));
    },
  };
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
