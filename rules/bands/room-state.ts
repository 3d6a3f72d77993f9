import type { Metric } from '../quantity/metric.ts';
import type { AlarmRecord } from './life-cycle.ts';
import { emptyHabit, type Habit } from './silent-probe.ts';

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
  /** By slot; null where a rule has never seen anything wrong. */
  alarms: (AlarmRecord | null)[];
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
    alarms: [null, null, null, null, null, null, null, null, null, null],
  };
}
