import type { AlarmRecord } from './alarm-record.ts';
import { isExpectedAgain } from './life-cycle.ts';
import type { RoomState } from './room-state.ts';

/** What the rules remember of one system: with an alarm only this has to be stored, however many systems there are. */
export type SystemPart = Pick<RoomState, 'series' | 'alarms' | 'analytes'> & {
  /** Time of the last step before it was parted. */
  nowMs: number | null;
};

/** What the rules remember beside that. Alarms here belong to no system. */
export type CommonPart = Omit<RoomState, 'series' | 'analytes'> & {
  /** Whose parts there are. */
  systems: string[];
};

export function commonPartOf(state: RoomState): CommonPart {
  const { series, analytes, ...rest } = state;
  const named = [...series, ...analytes, ...state.alarms].map(({ system }) => system).filter((system) => system !== '');
  return { ...rest, alarms: state.alarms.filter(({ system }) => system === ''), systems: [...new Set(named)] };
}

/** Its objects are those of the state. */
export function systemPartOf(state: RoomState, system: string): SystemPart {
  const isOfIt = (each: { system: string }) => each.system === system;
  return {
    nowMs: state.nowMs,
    series: state.series.filter(isOfIt),
    alarms: state.alarms.filter(isOfIt),
    analytes: state.analytes.filter(isOfIt),
  };
}

/**
 * The state of the room from its parts. They may be of different age: what a system's part has not seen happened while
 * nobody listened, as far as it can tell, and no silence is counted from before.
 */
export function joinedState({ systems: _systems, ...common }: CommonPart, parts: readonly SystemPart[]): RoomState {
  const newestMs = Math.max(...[common.nowMs, ...parts.map(({ nowMs }) => nowMs)].map((nowMs) => nowMs ?? 0));
  const isOfOneAge = parts.every(({ nowMs }) => nowMs === common.nowMs);
  return {
    ...common,
    listeningSinceMs: isOfOneAge ? common.listeningSinceMs : newestMs,
    series: parts.flatMap(({ series }) => series),
    alarms: [...common.alarms, ...parts.flatMap(({ alarms }) => alarms)],
    analytes: parts.flatMap(({ analytes }) => analytes),
  };
}

/** Something is about to be told: a delay runs, or a condition that began or ended is still hidden. */
export function isRestless(part: SystemPart): boolean {
  const isMoving = (record: AlarmRecord | null) =>
    record !== null &&
    (record.normalSinceMs !== null ||
      (record.isLatched ? !record.isTold : record.isTold && !isExpectedAgain(record)) ||
      (record.abnormalSinceMs !== null && !record.isLatched));
  return part.alarms.some(isMoving) || part.series.some(({ alarms }) => alarms.some(isMoving));
}
