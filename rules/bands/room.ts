import { hourMs } from '../clock/durations.ts';
import type { AlarmEvent } from './alarm-event.ts';
import type { AlarmRecord } from './alarm-record.ts';
import { judgeHour, stepContainer, stepDemand, stepDose, stepForecast, stepTest } from './analyte-rules.ts';
import { gateOf, gateOfStream } from './causes.ts';
import { comingsText } from './comings.ts';
import { stepCommand } from './commands.ts';
import type { Evidence } from './evidence.ts';
import { slotNames, slots } from './kinds/list.ts';
import { forgetComings, isAlive, isExpectedAgain, type LifeSettings, settle, unlatch } from './life-cycle.ts';
import { settingsOf } from './room-alarm.ts';
import { indexOf, type RoomIndex, type Stream, streamOf } from './room-index.ts';
import type { RoomRules } from './room-rules.ts';
import { emptyRoomState, moveRoom, type RoomState } from './room-state.ts';
import { streamReturnMessage } from './stream-messages.ts';
import { judgeSilence, stepReading } from './stream-rules.ts';
import { judgeEdges, stepCalibration, stepEdge } from './upkeep-rules.ts';

/**
 * The rules of a room as one reducer. Replay and the live hub run the same step, so that they agree by construction.
 * The file names the order of the work; each kind of alarms has its own file in `kinds/`.
 */

export { type RoomRules, rulesForRoom } from './room-rules.ts';
export type { RoomState } from './room-state.ts';
export { alarmsBack, alarmsOf, type StandingAlarm } from './standing-alarms.ts';
export { emptyRoomState, moveRoom };

/** Shared by all steps that tell nothing. */
const nothing: AlarmEvent[] = Object.freeze([] as AlarmEvent[]) as AlarmEvent[];

/** Without any step for so long the hub was not listening (stopped, or its clock stepped): silence then proves nothing. */
const longestPauseMs = 10 * 60_000;
/** What only time can tell is looked at no more often than this. */
const scanEveryMs = 5000;

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
  const room = indexOf(rules, state, nowMs);
  noteTime(state, nowMs);
  stepEvidence(room, evidence);
  return { state, events: room.events.length === 0 ? nothing : room.events };
}

/** A pause or a clock that stepped back: nobody listened, and silence is counted from here. */
function noteTime(state: RoomState, nowMs: number): void {
  if (state.nowMs === null || nowMs < state.nowMs || nowMs - state.nowMs > longestPauseMs) {
    state.listeningSinceMs = nowMs;
    state.scannedMs = nowMs;
  }
  state.nowMs = nowMs;
  state.startedMs ??= nowMs;
}

function stepEvidence(room: RoomIndex, evidence: Evidence): void {
  switch (evidence.is) {
    case 'reading': {
      const stream = streamOf(room, evidence.reading.series);
      if (stream !== undefined) stepReading(room, stream, evidence.reading);
      break;
    }
    case 'time':
      stepTime(room);
      break;
    case 'command':
      stepCommand(room, evidence.command);
      break;
    case 'test':
      stepTest(room, evidence);
      break;
    case 'dose':
      stepDose(room, evidence);
      break;
    case 'demand':
      stepDemand(room, evidence);
      break;
    case 'forecast':
      stepForecast(room, evidence);
      break;
    case 'container':
      stepContainer(room, evidence);
      break;
    case 'calibration':
      stepCalibration(room, evidence.probe, evidence.timeMs);
      break;
    case 'edge':
      stepEdge(room, evidence);
      // Not with the next look at the time: what is urgent is not put off.
      if (evidence.isUrgent === true) judgeEdges(room);
      break;
  }
}

/** What only time can tell: silence, ends of shelving and maintenance, causes that came or went. */
function stepTime(room: RoomIndex): void {
  const { state, nowMs } = room;
  const lastScanMs = state.scannedMs;
  if (nowMs - lastScanMs < scanEveryMs) return;
  state.scannedMs = nowMs;
  state.maintenance = state.maintenance.filter((window) => nowMs < window.untilMs);
  for (const { system, probe } of room.rules.probes.values())
    streamOf(room, { system, metric: probe.metric, probe: probe.id });
  // All conditions first: what is told depends on what else holds.
  for (const stream of room.streams) judgeSilence(room, stream);
  for (const stream of room.streams) settleStream(room, stream);
  judgeEdges(room);
  // Days are counted here: once an hour is often enough.
  if (Math.floor(nowMs / hourMs) !== Math.floor(lastScanMs / hourMs)) judgeHour(room);
  for (const record of state.alarms) settleOther(room, record);
}

function settleStream(room: RoomIndex, stream: Stream): void {
  for (const name of slotNames) {
    const record = stream.series.alarms[slots[name]];
    if (record === null || record === undefined || !isAlive(record)) continue;
    // It stood on after its end: it says the value of now when that is over.
    if (record.isTold && !record.isLatched && !isExpectedAgain(record)) {
      record.value = stream.series.goodValue;
      record.message = streamReturnMessage(stream, name) + comingsText(record, room.nowMs);
    }
    settleUnder(room, record, stream.plan.stream[name], () => gateOfStream(room, stream, name));
  }
}

function settleOther(room: RoomIndex, record: AlarmRecord): void {
  if (record.rule === 'edge_fault' || !isAlive(record)) return;
  settleUnder(room, record, settingsOf(room, record), () => gateOf(room, record));
}

/** @param settings  undefined where the rule was switched off, which ends what stood by it */
function settleUnder(
  room: RoomIndex,
  record: AlarmRecord,
  settings: LifeSettings | undefined,
  gate: () => ReturnType<typeof gateOf>,
): void {
  if (settings === undefined && (record.isLatched || record.isTold)) {
    unlatch(record, room.nowMs);
    forgetComings(record);
    record.message = 'This rule was switched off.';
  }
  settle(record, settings ?? {}, gate(), room.nowMs, room.events);
}
