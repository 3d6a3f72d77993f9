import { type Metric, metrics } from '../quantity/metric.ts';
import { type MetricDefaults, metricDefaults } from './metric-defaults.ts';
import { allows, type Draft, draftsForMetric } from './rule-defaults.ts';
import type { RuleSettings, SlotName } from './rule-settings.ts';
import type { Band, KeepersUnits, RuleOverride, WatchedProbe, WatchedRoom, WatchedSystem } from './watched-room.ts';

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
  other: {
    testAbove: RuleSettings | undefined;
    testBelow: RuleSettings | undefined;
    drift: RuleSettings | undefined;
    demandChanged: RuleSettings | undefined;
    outOfStep: RuleSettings | undefined;
    dosedNotMoved: RuleSettings | undefined;
    testOverdue: RuleSettings | undefined;
    calibrationOverdue: RuleSettings | undefined;
    containerLow: RuleSettings | undefined;
  };
};

export type RoomRules = {
  /** System, then metric. */
  plans: Map<string, Map<Metric, MetricPlan>>;
  systems: Map<string, WatchedSystem>;
  /** What the configuration lists, by `probeKey`: a probe and what is derived from it share an id, not a metric. */
  probes: Map<string, { system: string; probe: WatchedProbe }>;
};

/** Key of a listed probe. */
export function probeKey(system: string, metric: Metric, probe: string): string {
  return `${system}/${metric}/${probe}`;
}

/** Gives the plan of a metric, or undefined for a system that the configuration does not know. */
export function planOf(rules: RoomRules, system: string, metric: Metric): MetricPlan | undefined {
  return rules.plans.get(system)?.get(metric);
}

/**
 * The full set of rules of a room, from its bands alone or with overrides (later ones win).
 *
 * @param room  systems with bands in the store unit of each metric
 * @returns rules that never change; build them again when the configuration does
 */
export function rulesForRoom(room: WatchedRoom): RoomRules {
  const rules: RoomRules = { plans: new Map(), systems: new Map(), probes: new Map() };
  for (const system of room.systems) {
    rules.systems.set(system.id, system);
    for (const probe of system.probes)
      rules.probes.set(probeKey(system.id, probe.metric, probe.id), { system: system.id, probe });
    const plans = new Map<Metric, MetricPlan>();
    for (const metric of metrics) plans.set(metric, planFor(system, metric, room.overrides, room.displayUnits ?? {}));
    rules.plans.set(system.id, plans);
  }
  return rules;
}

function planFor(
  system: WatchedSystem,
  metric: Metric,
  overrides: readonly RuleOverride[],
  units: KeepersUnits,
): MetricPlan {
  const band = system.bands[metric];
  const defaults = metricDefaults[metric];
  const drafts = draftsForMetric(metric, band, defaults, system);
  const finish = (draft: Draft | undefined) =>
    draft === undefined ? undefined : changed(draft, system, metric, overrides);
  return {
    system: system.id,
    metric,
    defaults,
    band,
    units,
    isProbeNamed: system.probes.filter((probe) => probe.metric === metric).length > 1,
    stream: {
      above: finish(drafts.above),
      below: finish(drafts.below),
      rate: finish(drafts.rate),
      swing: finish(drafts.swing),
      drift: finish(drafts.drift),
      departure: finish(drafts.departure),
      silent: finish(drafts.silent),
      flat: finish(drafts.flat),
      impossible: finish(drafts.impossible),
      disagree: finish(drafts.disagree),
    },
    other: {
      testAbove: finish(drafts.testAbove),
      testBelow: finish(drafts.testBelow),
      drift: finish(drafts.forecast),
      demandChanged: finish(drafts.demandChanged),
      outOfStep: finish(drafts.outOfStep),
      dosedNotMoved: finish(drafts.dosedNotMoved),
      testOverdue: finish(drafts.testOverdue),
      calibrationOverdue: finish(drafts.calibrationOverdue),
      containerLow: finish(drafts.containerLow),
    },
  };
}

function changed(
  draft: Draft,
  system: WatchedSystem,
  metric: Metric,
  overrides: readonly RuleOverride[],
): RuleSettings | undefined {
  let isEnabled = draft.isEnabled;
  const settings: RuleSettings = { ...draft.settings };
  for (const override of overrides) {
    if (!allows(override, draft.settings.rule, system.id, metric)) continue;
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
