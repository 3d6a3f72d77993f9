import { minuteMs } from '../../clock/durations.ts';
import type { Quality } from '../../quality/reading.ts';
import type { Metric } from '../../quantity/metric.ts';
import type { Condition } from '../condition.ts';
import type { ContainerEvidence, ForecastEvidence } from '../evidence.ts';
import type { MetricDefaults } from '../metric-defaults.ts';
import type { RoomIndex, Stream } from '../room-index.ts';
import type { MetricPlan } from '../room-rules.ts';
import type { AnalyteState, Figures, SeriesState } from '../room-state.ts';
import type { RuleSettings } from '../rule-settings.ts';
import type { Band, KeepersUnits, Priority, WatchedSystem } from '../watched-room.ts';
import type { SlotName } from './list.ts';

/**
 * What a kind of alarms is. Each has a file beside this one, and its place in `list.ts`: the rules, the configuration, its
 * check and the documentation follow from it.
 */
export type AlarmKind<
  Id extends string = string,
  OnStream extends string = string,
  Elsewhere extends string = string,
> = {
  id: Id;
  /** For the documentation: what it says of the room, and what a person looks at first. */
  means: string;
  firstLook: string;
  /** What an entry of the configuration may speak of: a metric of a system, or only a system. */
  appliesTo: 'metric' | 'system';
  /** Whether its `deadband` can be set: it compares a number with its limit. */
  hasDeadband: boolean;
  /** Its alarms on a stream of readings. */
  onStream: Record<OnStream, StreamAlarm>;
  /** Its alarms that are moved by other evidence, or by days. */
  elsewhere: Record<Elsewhere, OtherAlarm>;
};

/** The settings of an alarm before the keeper's; what is not named is 0, a gap of ten minutes, and raised again by priority. */
export type Defaults = Partial<Omit<RuleSettings, 'rule'>> & {
  priority: Priority;
  /** False where the keeper has to ask for it. */
  isEnabled?: boolean;
};

/** The metric of a system for which defaults are made. */
export type RuledMetric = {
  metric: Metric;
  /** In the metric's store unit; without one, only what is about the probe itself can be judged. */
  band: Band | undefined;
  facts: MetricDefaults;
  system: RuledSystem;
};

/** What of a system its rules depend on. */
export type RuledSystem = Pick<WatchedSystem, 'id' | 'bands' | 'testEveryDays'>;

export type StreamAlarm = {
  /** Its place in a stream's list of alarms: part of the stored state, so a number never changes its meaning. */
  slot: number;
  idEnd?: '/high' | '/low' | '/often';
  defaults(of: RuledMetric): Defaults | undefined;
  /** How it judges; undefined leaves the alarm as it is. */
  judge:
    | { each: 'reading'; condition(seen: SeenReading): Condition | undefined }
    | { each: 'value'; condition(seen: Seen & { value: number }): Condition | undefined }
    | { each: 'median'; condition(seen: SeenMedian): Condition | undefined }
    | { each: 'look'; condition(seen: Seen): Condition | undefined };
  /** The sentence when it is raised, and when it is over. */
  raised(said: Said): string;
  /** With the figures of now the sentence is still true: while the alarm is active it is said with them. */
  isTrueNow?(figures: Figures, settings: RuleSettings): boolean;
  returned?(said: Pick<Said, 'name' | 'valueAfter' | 'metric'>): string;
  /** How far beyond its limit it is, negative downwards, in the unit of the limit; absent where a kind has no such measure. */
  reach?(series: Pick<SeriesState, 'goodValue' | 'figures'>, settings: RuleSettings): number;
  /** Which way the water went, where the alarm has a way. */
  side?(figures: Figures): 'low' | 'high';
  /** On the same stream: which alarms hide this one, and for how long after they ended (as far back as its own window looks). */
  hiddenBy?: { by: readonly SlotName[]; forMs: number };
};

/** What a judge of a stream sees. */
export type Seen = { room: RoomIndex; stream: Stream; settings: RuleSettings; timeMs: number };
export type SeenReading = Seen & {
  quality: Quality;
  isGood: boolean;
  /** Since the reading before, 0 or more. */
  elapsedMs: number;
  /** The alarm has been there before; without it only an abnormal condition matters. */
  isKnown: boolean;
};
export type SeenMedian = Seen & {
  median: number;
  /** Nothing stands that would teach the day's habit something false. */
  isUsual: boolean;
  isHourOver: boolean;
};

/** What a sentence about a stream is made of. */
export type Said = {
  stream: Stream;
  metric: Metric;
  units: KeepersUnits;
  figures: Figures;
  settings: RuleSettings | undefined;
  name: string;
  /** With its unit; `no value` before the first good one. */
  value: string;
  /** `: 25.50 °C`, or nothing. */
  valueAfter: string;
  /** ` for 5 min`, or nothing. */
  held: string;
  /** The band's edges, alone and in brackets. */
  edges: string;
  within: string;
  /** What the rest of the room says about the cause, with a space behind it; may be empty. */
  hint: string;
  nowMs: number;
};

export type OtherAlarm = {
  idEnd?: string;
  defaults(of: RuledMetric): Defaults | undefined;
  judge:
    | { each: 'test'; of(asked: AskedOfAnalyte): Judged }
    /** A new estimate of the demand of a metric; `of` another metric where that is the one the alarm is about. */
    | { each: 'demand'; about?: Metric; of(asked: AskedOfAnalyte): Judged }
    | { each: 'forecast'; of(asked: Asked & { forecast: ForecastEvidence }): Judged | undefined }
    | { each: 'container'; of(asked: Omit<Asked, 'plan'> & { container: ContainerEvidence }): Judged }
    | { each: 'hour'; of(asked: Asked): Judged[] };
};

export type Asked = { room: RoomIndex; system: WatchedSystem; plan: MetricPlan; settings: RuleSettings };
export type AskedOfAnalyte = Asked & { analyte: AnalyteState };

/** What a judge found. The sentences are made only when the condition begins or ends. */
export type Judged = {
  condition: Condition;
  /** Ends the id where there are several of a kind, e.g. the container's name. */
  idEnd?: string;
  /** In the metric's store unit. */
  value?: number;
  raised(): string;
  cleared(): string;
};

/** Rules on five-minute medians see one value in five minutes, so their gaps are longer. */
export const onMedians = { gapToleranceMs: 35 * minuteMs };
/** Evidence that comes when it comes has no gaps: what was last known stays. */
export const untilNext = { gapToleranceMs: Number.MAX_SAFE_INTEGER };

/** Of what follows from the water's being on its way out. */
export function secondPriority(facts: MetricDefaults): Priority {
  return facts.outOfBand === 'high' ? 'medium' : 'low';
}

/** Of a fault of the probe itself. */
export function probePriority(band: Band | undefined): Priority {
  return band === undefined ? 'low' : 'medium';
}

export const dosedMetrics: ReadonlySet<Metric> = new Set(['alkalinity', 'calcium', 'magnesium']);
