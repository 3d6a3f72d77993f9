import type { Bands, RuleOverride, WatchedProbe, WatchedRoom, WatchedSystem } from '#rules/bands/watched-room.ts';
import { defined } from '#rules/plain-data/defined.ts';
import { isMetric, type Metric } from '#rules/quantity/metric.ts';
import type { Config, ProbeConfig, SystemConfig } from './schema.ts';

const msPerMinute = 60_000;

/** What the rules need to know of the room: bands and probes of each system, delays in milliseconds. */
export function watchedRoomFromConfig(config: Config): WatchedRoom {
  return {
    systems: config.systems.map((system) => watchedSystem(system, config.probes)),
    overrides: config.rules.map(ruleOverride),
    displayUnits: config.display_units,
  };
}

/**
 * The probe that gives a conductivity probe its water's temperature: the one it names, else the first temperature probe
 * of its system in the order of the file; undefined when there is none, and then it yields no salinity.
 */
export function temperatureProbeOf(probe: ProbeConfig, probes: readonly ProbeConfig[]): ProbeConfig | undefined {
  if (probe.temperature_probe !== undefined) return probes.find(({ id }) => id === probe.temperature_probe);
  return probes.find(({ system, metric }) => system === probe.system && metric === 'temperature');
}

/** True for the metrics from which the pipeline computes salinity and specific gravity. */
export function givesSalinity(metric: Metric): boolean {
  return metric === 'conductivity' || metric === 'specific_conductance_25';
}

function watchedSystem(system: SystemConfig, probes: readonly ProbeConfig[]): WatchedSystem {
  const testEveryDays = definedOnly(system.test_every_days);
  return {
    id: system.id,
    name: system.name,
    volumeL: system.volume_l,
    bands: watchedBands(system),
    probes: probes.filter((probe) => probe.system === system.id).flatMap((probe) => watchedProbes(probe, probes)),
    ...(Object.keys(testEveryDays).length === 0 ? {} : { testEveryDays }),
  };
}

/** The bands of a system in the words of the rules. */
export function watchedBands(system: Pick<SystemConfig, 'bands'>): Bands {
  const bands: Bands = {};
  for (const [metric, band] of Object.entries(system.bands)) {
    if (band === undefined || !isMetric(metric)) continue;
    bands[metric] = {
      low: band.low,
      high: band.high,
      ...defined({ mostPerHour: band.most_per_hour, mostPerDay: band.most_per_day }),
    };
  }
  return bands;
}

/** A probe on its wire, and for conductivity the salinity and specific gravity computed from it, under the same id. */
function watchedProbes(probe: ProbeConfig, probes: readonly ProbeConfig[]): WatchedProbe[] {
  const every = probe.every_seconds === undefined ? {} : { everyMs: probe.every_seconds * 1000 };
  const watched: WatchedProbe[] = [{ id: probe.id, metric: probe.metric, ...every, derivedFrom: [] }];
  if (!givesSalinity(probe.metric)) return watched;
  const temperatureProbe = temperatureProbeOf(probe, probes);
  if (temperatureProbe === undefined) return watched;
  const derivedFrom = [probe.id, temperatureProbe.id];
  for (const metric of ['salinity', 'specific_gravity'] as const) {
    watched.push({ id: probe.id, metric, ...every, derivedFrom: [...derivedFrom] });
  }
  return watched;
}

export function ruleOverride(rule: Config['rules'][number]): RuleOverride {
  return {
    rule: rule.rule,
    ...definedOnly({
      system: rule.system,
      metric: rule.metric,
      enabled: rule.enabled,
      priority: rule.priority,
      onDelayMs: minutesToMs(rule.on_delay_minutes),
      offDelayMs: minutesToMs(rule.off_delay_minutes),
      deadband: rule.deadband,
      gapToleranceMs: minutesToMs(rule.gap_tolerance_minutes),
      reAlarmMs: minutesToMs(rule.re_alarm_minutes),
    }),
  };
}

function minutesToMs(minutes: number | undefined): number | undefined {
  return minutes === undefined ? undefined : Math.round(minutes * msPerMinute);
}

type DefinedOnly<T> = { [Key in keyof T as undefined extends T[Key] ? never : Key]: T[Key] } & {
  [Key in keyof T as undefined extends T[Key] ? Key : never]?: Exclude<T[Key], undefined>;
};

/** The same without the keys whose value is undefined: with exact optional types the two are not the same. */
function definedOnly<T extends Partial<Record<string, unknown>> | Partial<Record<Metric, unknown>>>(
  object: T,
): DefinedOnly<T> {
  return Object.fromEntries(Object.entries(object).filter(([, value]) => value !== undefined)) as DefinedOnly<T>;
}
