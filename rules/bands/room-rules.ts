import { dayMs, hourMs, minuteMs } from '../clock/durations.ts';
import { type Metric, metrics } from '../quantity/metric.ts';
import type { Defaults, RuledMetric, RuledSystem } from './kinds/kind.ts';
import { type OtherName, otherAlarms, otherNames, type SlotName, slotNames, streamAlarms } from './kinds/list.ts';
import { type MetricDefaults, metricDefaults } from './metric-defaults.ts';
import type { RuleSettings } from './rule-settings.ts';
import type {
  Band,
  KeepersUnits,
  Priority,
  RuleKind,
  RuleOverride,
  WatchedProbe,
  WatchedRoom,
  WatchedSystem,
} from './watched-room.ts';

/** The rules of one metric of one system; an absent rule is switched off or has nothing to go by. */
export type MetricPlan = {
  system: string;
  metric: Metric;
  defaults: MetricDefaults;
  band: Band | undefined;
  /** For the sentences; all metrics, since one speaks of another. */
  units: KeepersUnits;
  /** Ids carry the probe's id where the configuration lists several probes of the metric. */
  isProbeNamed: boolean;
  stream: { [name in SlotName]: RuleSettings | undefined };
  /** Rules moved by evidence other than readings. */
  other: { [name in OtherName]: RuleSettings | undefined };
};

export type RoomRules = {
  /** System, then metric. */
  plans: Map<string, Map<Metric, MetricPlan>>;
  /** Rules about a system and no metric of it. */
  ofSystems: Map<string, MetricPlan['other']>;
  systems: Map<string, WatchedSystem>;
  /** What the configuration lists, by `probeKey`: a probe and what is derived from it share an id, not a metric. */
  probes: Map<string, { system: string; probe: WatchedProbe }>;
};

/** How long an acknowledged alarm may stand before it is raised again: long enough to mend, short enough to remember. */
const reAlarmMs: Record<Priority, number> = { high: 8 * hourMs, medium: dayMs, low: 7 * dayMs };

/** Longer than a few lost lines, shorter than a night without data. A slower stream stretches it to three of its intervals. */
const gapToleranceMs = 10 * minuteMs;

/** Key of a listed probe. */
export function probeKey(system: string, metric: Metric, probe: string): string {
  return `${system}/${metric}/${probe}`;
}

/** Gives the plan of a metric, or undefined for a system that the configuration does not know. */
export function planOf(rules: RoomRules, system: string, metric: Metric): MetricPlan | undefined {
  return rules.plans.get(system)?.get(metric);
}

/**
 * The full set of rules of a room, from its bands alone or with overrides (later ones win). Fractions of a band are common
 * practice, no published source.
 *
 * @param room  systems with bands in the store unit of each metric
 * @returns rules that never change; build them again when the configuration does
 */
export function rulesForRoom(room: WatchedRoom): RoomRules {
  const rules: RoomRules = { plans: new Map(), ofSystems: new Map(), systems: new Map(), probes: new Map() };
  for (const system of room.systems) {
    rules.systems.set(system.id, system);
    for (const probe of system.probes)
      rules.probes.set(probeKey(system.id, probe.metric, probe.id), { system: system.id, probe });
    const plans = metrics.map((metric) => planFor(system, metric, room.overrides, room.displayUnits ?? {}));
    rules.plans.set(system.id, new Map(plans.map((plan) => [plan.metric, plan])));
    rules.ofSystems.set(system.id, othersFor('system', ruledMetric(system, metrics[0]), room.overrides));
  }
  return rules;
}

/**
 * Why an entry of the configuration's rules can have no effect; undefined when it can.
 *
 * @param systems  those that the entry speaks of
 */
export function idleOverride(override: RuleOverride, systems: readonly RuledSystem[]): IdleOverride | undefined {
  const { rule, system: ofSystem, metric, ...changes } = override;
  const alarms = [...slotNames.map((name) => streamAlarms[name]), ...otherNames.map((name) => otherAlarms[name])];
  const own = alarms.filter(({ kind }) => kind.id === rule);
  const kind = own[0]?.kind;
  if (kind === undefined) return undefined;
  if (kind.appliesTo === 'system' && metric !== undefined) return 'takes no metric';
  const asked = Object.keys(changes);
  if (asked.length === 0) return 'changes nothing';
  if (!kind.hasDeadband && asked.every((name) => name === 'deadband')) return 'has no deadband';
  // What is said of everything holds for what is still to come as well.
  if (metric === undefined && ofSystem === undefined) return undefined;
  const ofMetrics = metric === undefined ? metrics : [metric];
  const hasPlace = systems.some((system) =>
    ofMetrics.some((each) => own.some(({ alarm }) => alarm.defaults(ruledMetric(system, each)) !== undefined)),
  );
  return hasPlace ? undefined : 'applies nowhere';
}

export type IdleOverride = 'takes no metric' | 'changes nothing' | 'has no deadband' | 'applies nowhere';

function ruledMetric(system: RuledSystem, metric: Metric): RuledMetric {
  return { metric, band: system.bands[metric], facts: metricDefaults[metric], system };
}

function planFor(
  system: WatchedSystem,
  metric: Metric,
  overrides: readonly RuleOverride[],
  units: KeepersUnits,
): MetricPlan {
  const of = ruledMetric(system, metric);
  return {
    system: system.id,
    metric,
    defaults: of.facts,
    band: of.band,
    units,
    isProbeNamed: system.probes.filter((probe) => probe.metric === metric).length > 1,
    stream: settingsByName(slotNames, (name) => {
      const { kind, alarm } = streamAlarms[name];
      return settingsFor(kind.id, alarm.defaults(of), of, overrides);
    }),
    other: othersFor('metric', of, overrides),
  };
}

/** What other evidence moves, of the kinds that are about a metric or of those about a system. */
function othersFor(
  about: 'metric' | 'system',
  of: RuledMetric,
  overrides: readonly RuleOverride[],
): MetricPlan['other'] {
  return settingsByName(otherNames, (name) => {
    const { kind, alarm } = otherAlarms[name];
    return kind.appliesTo === about ? settingsFor(kind.id, alarm.defaults(of), of, overrides) : undefined;
  });
}

function settingsByName<Name extends string>(names: readonly Name[], of: (name: Name) => RuleSettings | undefined) {
  return Object.fromEntries(names.map((name) => [name, of(name)])) as { [name in Name]: RuleSettings | undefined };
}

function settingsFor(
  rule: RuleKind,
  defaults: Defaults | undefined,
  { system, metric }: RuledMetric,
  overrides: readonly RuleOverride[],
): RuleSettings | undefined {
  if (defaults === undefined) return undefined;
  const { isEnabled: isOn = true, ...own } = defaults;
  let isEnabled = isOn;
  const plain = { onDelayMs: 0, offDelayMs: 0, deadband: 0, limit: 0, gapToleranceMs };
  const settings: RuleSettings = { ...plain, reAlarmMs: reAlarmMs[own.priority], ...own, rule };
  for (const override of overrides) {
    if (override.rule !== rule) continue;
    if (override.system !== undefined && override.system !== system.id) continue;
    if (override.metric !== undefined && override.metric !== metric) continue;
    isEnabled = override.enabled ?? isEnabled;
    settings.priority = override.priority ?? settings.priority;
    settings.onDelayMs = override.onDelayMs ?? settings.onDelayMs;
    settings.offDelayMs = override.offDelayMs ?? settings.offDelayMs;
    settings.deadband = override.deadband ?? settings.deadband;
    settings.gapToleranceMs = override.gapToleranceMs ?? settings.gapToleranceMs;
    if (override.reAlarmMs !== undefined) settings.reAlarmMs = override.reAlarmMs;
  }
  return isEnabled ? settings : undefined;
}
