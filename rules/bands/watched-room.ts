import type { Bands, KeepersUnits } from '../quantity/band.ts';
import type { Metric } from '../quantity/metric.ts';
import type { RuleKind } from './kinds/list.ts';

export type { Band, Bands, KeepersUnits } from '../quantity/band.ts';
export type { RuleKind } from './kinds/list.ts';

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

/**
 * One entry of the configuration's `rules:` list. Without `system` or `metric` it means all of them; a kind that is about a
 * system and no metric of it takes no `metric`.
 */
export type RuleOverride = {
  rule: RuleKind;
  system?: string;
  metric?: Metric;
  enabled?: boolean;
  priority?: Priority;
  onDelayMs?: number;
  offDelayMs?: number;
  deadband?: number;
  /** How long a gap in the readings may be before the delays start again. */
  gapToleranceMs?: number;
  reAlarmMs?: number;
};

export type WatchedRoom = { systems: WatchedSystem[]; overrides: RuleOverride[]; displayUnits?: KeepersUnits };
