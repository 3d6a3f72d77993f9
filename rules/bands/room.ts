import type { AlarmEvent } from './alarm-event.ts';
import { stepDemand, stepDose, stepForecast, stepTest } from './analyte-rules.ts';
import { gateOf, gateOfStream } from './causes.ts';
import { stepCommand } from './commands.ts';
import type { Evidence } from './evidence.ts';
import { type AlarmRecord, isAlive, settle, unlatch } from './life-cycle.ts';
import { settingsOf } from './room-alarm.ts';
import { indexOf, type RoomIndex, type Stream, streamOf } from './room-index.ts';
import type { RoomRules } from './room-rules.ts';
import { emptyRoomState, type RoomState } from './room-state.ts';
import { type RuleSettings, type SlotName, slots } from './rule-settings.ts';
import { judgeSilence, stepReading } from './stream-rules.ts';
import { judgeEdges, judgeOverdue, stepCalibration, stepContainer, stepEdge } from './upkeep-rules.ts';

/**
 * The rules of a room as one reducer. Replay and the live hub run the same step, so that they agree by construction.
 * The file names the order of the work; each rule kind has its own module.
 */

export { type RoomRules, rulesForRoom } from './room-rules.ts';
export type { RoomState } from './room-state.ts';
export { alarmsOf, type StandingAlarm } from './standing-alarms.ts';
export { emptyRoomState };

/** Shared by all steps that tell nothing. */
const nothing: AlarmEvent[] = Object.freeze([] as AlarmEvent[]) as AlarmEvent[];

/** Without any step for so long the hub was not listening (stopped, or its clock stepped): silence then proves nothing. */
const longestPauseMs = 10 * 60_000;
const hourMs = 3_600_000;
/** What only time can tell is looked at no more often than this. */
const scanEveryMs = 5000;

const slotNames = Object.keys(slots) as SlotName[];

/**
 * Lets one piece of evidence move the room.
 *
 * @param state     handed over: it is changed in place and returned, the caller must not use the old reference for anything
 *                  else. It is plain data, and JSON leaves it unchanged.
 * @param evidence  in order of arrival
 * @param nowMs     UTC milliseconds; may step back when a clock does
 * @returns the same state, and the events to store and then announce; the list may be shared and frozen when it is empty
 */
export function stepRoom(
  rules: RoomRules,
  state: RoomState,
  evidence: Evidence,
  nowMs: number,
): { state: RoomState; events: AlarmEvent[] } {
  const index = indexOf(rules, state);
  if (state.nowMs === null || nowMs < state.nowMs || nowMs - state.nowMs > longestPauseMs) {
    state.listeningSinceMs = nowMs;
    state.scannedMs = nowMs;
  }
  state.nowMs = nowMs;
  state.startedMs ??= nowMs;
  switch (evidence.is) {
    case 'reading': {
      const stream = streamOf(index, state, evidence.reading.series, nowMs);
      if (stream === undefined) return { state, events: nothing };
      return { state, events: stepReading(index, state, stream, evidence.reading, nowMs, nothing) };
    }
    case 'time':
      if (nowMs - state.scannedMs < scanEveryMs) return { state, events: nothing };
      return { state, events: stepTime(index, state, nowMs) };
    case 'command': {
      const events: AlarmEvent[] = [];
      stepCommand(index, state, evidence.command, nowMs, events);
      return { state, events };
    }
    default: {
      const events: AlarmEvent[] = [];
      stepOther(index, state, evidence, nowMs, events);
      return { state, events };
    }
  }
}

function stepOther(
  index: RoomIndex,
  state: RoomState,
  evidence: Exclude<Evidence, { is: 'reading' | 'time' | 'command' }>,
  nowMs: number,
  events: AlarmEvent[],
): void {
  switch (evidence.is) {
    case 'test':
      stepTest(index, state, evidence, nowMs, events);
      break;
    case 'dose':
      stepDose(index, state, evidence);
      break;
    case 'demand':
      stepDemand(index, state, evidence, nowMs, events);
      break;
    case 'forecast':
      stepForecast(index, state, evidence, nowMs, events);
      break;
    case 'container':
      stepContainer(index, state, evidence, nowMs, events);
      break;
    case 'calibration':
      stepCalibration(state, evidence.probe, evidence.timeMs);
      break;
    case 'edge':
      stepEdge(index, state, evidence, nowMs);
      // Not with the next look at the time: what is urgent is not put off.
      if (evidence.isUrgent === true) judgeEdges(index, state, nowMs, events);
      break;
  }
}

/** What only time can tell: silence, ends of shelving and maintenance, causes that came or went. */
function stepTime(index: RoomIndex, state: RoomState, nowMs: number): AlarmEvent[] {
  const lastScanMs = state.scannedMs;
  state.scannedMs = nowMs;
  state.maintenance = state.maintenance.filter((window) => nowMs < window.untilMs);
  const events: AlarmEvent[] = [];
  for (const { system, probe } of index.rules.probes.values()) {
    streamOf(index, state, { system, metric: probe.metric, probe: probe.id }, nowMs);
  }
  for (const stream of index.streams) judgeSilence(index, state, stream, nowMs);
  for (const stream of index.streams) settleStream(index, state, stream, nowMs, events);
  judgeEdges(index, state, nowMs, events);
  // Days are counted here: once an hour is often enough.
  if (Math.floor(nowMs / hourMs) !== Math.floor(lastScanMs / hourMs)) judgeOverdue(index, state, nowMs, events);
  for (const record of state.alarms) settleOther(index, state, record, nowMs, events);
  return events;
}

function settleOther(
  index: RoomIndex,
  state: RoomState,
  record: AlarmRecord,
  nowMs: number,
  events: AlarmEvent[],
): void {
  if (record.rule === 'edge_fault' || !isAlive(record)) return;
  const settings = settingsOf(index, record);
  if (settings === undefined && record.isLatched) endRule(record, nowMs);
  settle(record, settings ?? {}, gateOf(state, record, nowMs), nowMs, events);
}

function endRule(record: AlarmRecord, nowMs: number): void {
  unlatch(record, nowMs);
  record.message = 'This rule was switched off.';
}

/** Second, when every condition is known: what is told depends on what else holds. */
function settleStream(index: RoomIndex, state: RoomState, stream: Stream, nowMs: number, events: AlarmEvent[]): void {
  const { series, plan } = stream;
  for (const name of slotNames) {
    const record = series.alarms[slots[name]];
    if (record === null || record === undefined || !isAlive(record)) continue;
    const settings: RuleSettings | undefined = plan.stream[name];
    if (settings === undefined && record.isLatched) endRule(record, nowMs);
    settle(record, settings ?? {}, gateOfStream(index, state, stream, name, nowMs), nowMs, events);
  }
}
