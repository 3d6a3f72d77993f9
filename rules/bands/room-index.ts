import type { Series } from '../quality/reading.ts';
import type { Metric } from '../quantity/metric.ts';
import type { AlarmEvent } from './alarm-event.ts';
import type { AlarmRecord, AlarmSubject } from './alarm-record.ts';
import { newAlarm } from './alarm-record.ts';
import { slotNames } from './kinds/list.ts';
import { type MetricPlan, planOf, probeKey, type RoomRules } from './room-rules.ts';
import {
  type AnalyteState,
  mostSeries,
  newAnalyte,
  newSeries,
  type RoomState,
  type SeriesState,
} from './room-state.ts';

/** A stream with the rules that apply to it. */
export type Stream = {
  series: SeriesState;
  plan: MetricPlan;
  everyMs: number | undefined;
  derivedFrom: readonly string[];
};

/**
 * A room at work: its rules and its state, the moment of the step, what the step has told so far, and ways to find things
 * quickly. It is made from rules and state alone and never stored: losing it costs time and nothing else.
 */
export type RoomIndex = {
  rules: RoomRules;
  state: RoomState;
  /** Of the step that is under way, UTC milliseconds. */
  nowMs: number;
  /** What this step tells. */
  events: AlarmEvent[];
  /** Metric, then system, then probe. */
  byName: Map<Metric, Map<string, Map<string, Stream>>>;
  streams: Stream[];
  /** Streams of one system. */
  bySystem: Map<string, Stream[]>;
  others: Map<string, AlarmRecord>;
  analytes: Map<string, AnalyteState>;
  /** Those of the state itself, which grow in place. */
  calibrations: RoomState['calibrations'];
  /** When the edge behind a probe last came up; Infinity while it is down. UTC milliseconds by probe id. */
  edgeUpMs: Map<string, number>;
};

const indexes = new WeakMap<RoomState, RoomIndex>();

/** The room at work at this moment, with nothing told yet. */
export function indexOf(rules: RoomRules, state: RoomState, nowMs: number): RoomIndex {
  const known = indexes.get(state);
  if (known !== undefined && known.rules === rules) {
    known.nowMs = nowMs;
    // What was told went out: its list is not ours any more.
    if (known.events.length > 0) known.events = [];
    return known;
  }
  const index: RoomIndex = {
    rules,
    state,
    nowMs,
    events: [],
    byName: new Map(),
    streams: [],
    bySystem: new Map(),
    calibrations: state.calibrations,
    others: new Map(),
    analytes: new Map(),
    edgeUpMs: new Map(),
  };
  for (const series of state.series) addToIndex(index, series);
  for (const record of state.alarms) index.others.set(record.id, record);
  for (const analyte of state.analytes) index.analytes.set(`${analyte.system}/${analyte.metric}`, analyte);
  noteEdges(index);
  indexes.set(state, index);
  return index;
}

/** The stream of a reading, taken on when it is new; undefined for an unknown system or beyond the most streams. */
export function streamOf(index: RoomIndex, name: Series): Stream | undefined {
  const { state, nowMs } = index;
  const known = index.byName.get(name.metric)?.get(name.system)?.get(name.probe);
  if (known !== undefined) return known;
  const plan = planOf(index.rules, name.system, name.metric);
  if (plan === undefined) return undefined;
  if (state.series.length >= mostSeries) {
    state.refusedReadings += 1;
    return undefined;
  }
  // The first stream of a metric that nobody listed keeps the short id; any later one is told apart by its probe.
  const isFirst = (index.byName.get(name.metric)?.get(name.system)?.size ?? 0) === 0;
  const isNamed = plan.isProbeNamed || !isFirst;
  const series = newSeries(name.system, name.metric, name.probe, isNamed, nowMs);
  state.series.push(series);
  return addToIndex(index, series);
}

/** What is known of an analyte, begun when it is new; undefined for an unknown system. */
export function analyteOf(index: RoomIndex, system: string, metric: Metric): AnalyteState | undefined {
  const known = index.analytes.get(`${system}/${metric}`);
  if (known !== undefined) return known;
  if (!index.rules.systems.has(system)) return undefined;
  const analyte = newAnalyte(system, metric);
  index.state.analytes.push(analyte);
  index.analytes.set(`${system}/${metric}`, analyte);
  return analyte;
}

/** Brings the index in line with the edges of the state. */
export function noteEdges(index: RoomIndex): void {
  index.edgeUpMs.clear();
  for (const edge of index.state.edges) {
    for (const probe of edge.probes) index.edgeUpMs.set(probe, edge.isUp ? edge.changedMs : Number.POSITIVE_INFINITY);
  }
}

/** The alarm with this id outside the streams, made when it is new. */
export function otherAlarm(index: RoomIndex, subject: AlarmSubject): AlarmRecord {
  const known = index.others.get(subject.id);
  if (known !== undefined) return known;
  const record = newAlarm(subject);
  index.state.alarms.push(record);
  index.others.set(record.id, record);
  return record;
}

function addToIndex(index: RoomIndex, series: SeriesState): Stream | undefined {
  // Stored by a hub that knew fewer kinds.
  while (series.alarms.length < slotNames.length) series.alarms.push(null);
  const plan = planOf(index.rules, series.system, series.metric);
  if (plan === undefined) return undefined;
  const listed = index.rules.probes.get(probeKey(series.system, series.metric, series.probe));
  const stream: Stream = {
    series,
    plan,
    everyMs: listed?.probe.everyMs,
    derivedFrom: listed?.probe.derivedFrom ?? [],
  };
  const byMetric = under(index.byName, series.metric, () => new Map<string, Map<string, Stream>>());
  under(byMetric, series.system, () => new Map<string, Stream>()).set(series.probe, stream);
  under(index.bySystem, series.system, () => []).push(stream);
  index.streams.push(stream);
  return stream;
}

function under<Key, Value>(map: Map<Key, Value>, key: Key, make: () => Value): Value {
  const known = map.get(key);
  if (known !== undefined) return known;
  const made = make();
  map.set(key, made);
  return made;
}
