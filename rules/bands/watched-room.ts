import type { Metric } from '../quantity/metric.ts';

/** The edges between which a metric should stay, in its store unit, with the most it may move. */
export type Band = { low: number; high: number; mostPerHour?: number; mostPerDay?: number };

export type Bands = Partial<Record<Metric, Band>>;

export const ruleKinds = [
  'out_of_band',
  'rate',
  'swing',
  'drift',
  'departure',
  'silent_probe',
  'flat_line',
  'impossible_value',
  'probes_disagree',
  'demand_changed',
  'calcium_alkalinity_out_of_step',
  'dosed_not_moved',
  'test_overdue',
  'calibration_overdue',
  'container_low',
] as const;

export type RuleKind = (typeof ruleKinds)[number];

/** What an alarm asks of the person, by IEC 62682: high act now, medium act today, low look when convenient. */
export const priorities = ['high', 'medium', 'low'] as const;

export type Priority = (typeof priorities)[number];

export type WatchedProbe = {
  id: string;
  metric: Metric;
  /** How often it should speak; learned from the stream when absent. */
  everyMs?: number;
  /** Ids of the probes a derived metric is computed from; empty for a probe on a wire. */
  derivedFrom?: string[];
};

export type WatchedSystem = {
  id: string;
  name: string;
  volumeL: number;
  bands: Bands;
  /** May be empty: then the streams are learned as readings come (as in a replay of a bare CSV). */
  probes: WatchedProbe[];
  /** Most days between two tests of an analyte before the test counts as overdue. */
  testEveryDays?: Partial<Record<Metric, number>>;
};

/** One entry of the configuration's `rules:` list. Without `system` or `metric` it means all of them. */
export type RuleOverride = {
  rule: RuleKind;
  system?: string;
  metric?: Metric;
  enabled?: boolean;
  priority?: Priority;
  onDelayMs?: number;
  offDelayMs?: number;
  deadband?: number;
  /** How long a gap in the readings may be before the delays start anew. */
  gapToleranceMs?: number;
  reAlarmMs?: number;
};

/** In which unit a person wants to read a metric; `sg` shows salinity as specific gravity 25/25. Absent: the store's own. */
export type KeepersUnits = Partial<Record<Metric, string>>;

export type WatchedRoom = { systems: WatchedSystem[]; overrides: RuleOverride[]; displayUnits?: KeepersUnits };
