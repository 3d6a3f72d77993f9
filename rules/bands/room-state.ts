import type { ClockMove } from '../clock/clock-move.ts';
import type { Metric } from '../quantity/metric.ts';
import { emptyHabit, type Habit } from '../verdicts/silence.ts';
import { type AlarmRecord, moveAlarm } from './alarm-record.ts';
import { type DayCycle, emptyDayCycle } from './day-cycle.ts';
import type { FailingShare } from './failing-share.ts';
import { emptyMedian, type Median, moveMedian } from './five-minute-median.ts';
import type { DemandReport } from './kinds/demand-changed.ts';
import type { KnownDose, KnownTest } from './kinds/dosed-not-moved.ts';
import { emptyStuckRun, moveStuckRun, type StuckRun } from './kinds/flat-line.ts';
import { type BadShare, emptyBadShare } from './kinds/impossible-value.ts';
import { slotNames } from './kinds/list.ts';
import { emptyLastHour, type LastHour, moveLastHour } from './kinds/rate.ts';
import { emptyLastDay, type LastDay } from './kinds/swing.ts';

/** What the rules on calm values found last, for the sentences and for what hides what. In the metric's store unit. */
export type Figures = {
  moveInHour: number;
  swing: number;
  distanceFromUsual: number;
  perDay: number;
  hoursToLeave: number | null;
  difference: number;
  oddProbe: string;
};

/** What the rules remember of one stream of readings. */
export type SeriesState = {
  system: string;
  metric: Metric;
  probe: string;
  /** Its alarms carry the probe's id: it is not the only stream of its metric in the system. */
  isNamed: boolean;
  /** A reading with a number came, whatever its flag. */
  hasSpoken: boolean;
  /** Time of the last such reading, or when the hub began to wait for the first. UTC milliseconds. */
  heardMs: number;
  /** The last good value, in the metric's store unit, and its time; absent before the first. */
  goodValue: number | null;
  goodMs: number;
  habit: Habit;
  bad: BadShare;
  /** Absent while none has failed for long. */
  failing?: FailingShare;
  stuck: StuckRun;
  median: Median;
  /** The last five-minute median and the time at which it was complete. */
  calmValue: number | null;
  calmMs: number;
  lastHour: LastHour;
  lastDay: LastDay;
  cycle: DayCycle;
  figures: Figures;
  /** By slot; null where a rule has never seen anything wrong. */
  alarms: (AlarmRecord | null)[];
};

/** What is known of one analyte of one system from evidence other than readings. */
export type AnalyteState = {
  system: string;
  metric: Metric;
  /** Oldest first, a dozen at most. */
  tests: KnownTest[];
  /** Oldest first, of the last days. */
  doses: KnownDose[];
  /** One a day, oldest first. */
  demand: DemandReport[];
  /** When the estimator last spoke of it; null before it did. */
  forecastMs: number | null;
  forecast: { hoursToLeave: number | null; probability: number; side: 'low' | 'high' | null };
};

export type EdgeMemory = {
  name: string;
  isUp: boolean;
  changedMs: number;
  detail: string;
  probes: string[];
  isUrgent?: boolean;
  isOver?: boolean;
};

export type Maintenance = { system: string; probe?: string; untilMs: number; by: string };

/**
 * All that the rules of a room remember: plain data that survives JSON unchanged, so that it can be stored, restored and
 * replayed. Whoever calls `stepRoom` hands the object over: it is changed in place.
 */
export type RoomState = {
  version: 1;
  /** Time of the last step; null before the first. */
  nowMs: number | null;
  /** Since when the hub has listened without a pause: silence before that is its own. */
  listeningSinceMs: number;
  /** Time of the last look at what only time can tell. */
  scannedMs: number;
  series: SeriesState[];
  /** Alarms that belong to no stream: tests, containers, edges. */
  alarms: AlarmRecord[];
  maintenance: Maintenance[];
  analytes: AnalyteState[];
  /** Last calibration of each probe that was ever calibrated. */
  calibrations: { probe: string; timeMs: number }[];
  edges: EdgeMemory[];
  /** When the first step was made: what was never done before is counted from here. */
  startedMs: number | null;
  /** Readings turned away because the room already had its most streams. */
  refusedReadings: number;
};

/** Most streams of one room; readings of further ones are counted and not judged. */
export const mostSeries = 20_000;

export function emptyRoomState(): RoomState {
  return {
    version: 1,
    nowMs: null,
    listeningSinceMs: 0,
    scannedMs: 0,
    series: [],
    alarms: [],
    maintenance: [],
    analytes: [],
    calibrations: [],
    edges: [],
    startedMs: null,
    refusedReadings: 0,
  };
}

export function newSeries(system: string, metric: Metric, probe: string, isNamed: boolean, nowMs: number): SeriesState {
  return {
    system,
    metric,
    probe,
    isNamed,
    hasSpoken: false,
    heardMs: nowMs,
    goodValue: null,
    goodMs: 0,
    habit: emptyHabit(),
    bad: emptyBadShare(),
    stuck: emptyStuckRun(),
    median: emptyMedian(),
    calmValue: null,
    calmMs: 0,
    lastHour: emptyLastHour(),
    lastDay: emptyLastDay(),
    cycle: emptyDayCycle(),
    figures: {
      moveInHour: 0,
      swing: 0,
      distanceFromUsual: 0,
      perDay: 0,
      hoursToLeave: null,
      difference: 0,
      oddProbe: '',
    },
    alarms: slotNames.map(() => null),
  };
}

export function newAnalyte(system: string, metric: Metric): AnalyteState {
  return {
    system,
    metric,
    tests: [],
    doses: [],
    demand: [],
    forecastMs: null,
    forecast: { hoursToLeave: null, probability: 0, side: null },
  };
}

/** The clock was put right. Tests, doses, calibrations were dated by people, the cycle of a day is learned over a week: they stay. */
export function moveRoom(state: RoomState, move: ClockMove): void {
  const { noted, set } = move;
  state.nowMs = noted(state.nowMs);
  state.listeningSinceMs = noted(state.listeningSinceMs);
  state.scannedMs = noted(state.scannedMs);
  state.startedMs = noted(state.startedMs);
  for (const series of state.series) moveSeries(series, move);
  for (const record of state.alarms) moveAlarm(record, move);
  for (const work of state.maintenance) work.untilMs = set(work.untilMs);
  for (const edge of state.edges) edge.changedMs = noted(edge.changedMs);
}

function moveSeries(series: SeriesState, move: ClockMove): void {
  const { noted } = move;
  series.heardMs = noted(series.heardMs);
  series.goodMs = noted(series.goodMs);
  series.calmMs = noted(series.calmMs);
  moveStuckRun(series.stuck, move);
  moveMedian(series.median, move);
  moveLastHour(series.lastHour, move);
  for (const record of series.alarms) if (record !== null) moveAlarm(record, move);
}

/** After a clock stepped back, what is remembered by time lies ahead of it; the learned habits stay. */
export function forgetTimes(series: SeriesState): void {
  series.stuck.sinceMs = 0;
  series.stuck.value = null;
  series.stuck.interrupted = null;
  series.stuck.day = null;
  series.median = emptyMedian();
  series.calmValue = null;
  series.lastHour = emptyLastHour();
  series.lastDay = emptyLastDay();
  series.cycle.hour = null;
  series.cycle.medians = [];
}
