import { dayMs, minuteMs } from '../clock/durations.ts';
import { durationText } from '../words/value-text.ts';
import { gateOf } from './causes.ts';
import { comingsText, noteReach } from './comings.ts';
import type { EdgeEvidence } from './evidence.ts';
import { forgetComings, observe, settle } from './life-cycle.ts';
import { noteEdges, otherAlarm, type RoomIndex } from './room-index.ts';
import type { EdgeMemory } from './room-state.ts';

/** What keeps the room going: calibrations, and the edges of the hub, which are no kind of the room's. */

/** More than any room has; what comes beyond is not remembered. Chosen here. */
const mostEdges = 1000;
const mostCalibrations = 20_000;

/** An edge reconnects by itself within seconds; a minute away is a fault, a minute back is sound. */
const edgeSettings = {
  onDelayMs: minuteMs,
  offDelayMs: minuteMs,
  gapToleranceMs: Number.MAX_SAFE_INTEGER,
  reAlarmMs: dayMs,
};

/** A part of the hub itself does not come and go by a loose plug. */
const atOnceSettings = { ...edgeSettings, onDelayMs: 0, offDelayMs: 0 };

export function stepCalibration({ state }: RoomIndex, probe: string, timeMs: number): void {
  const known = state.calibrations.find((calibration) => calibration.probe === probe);
  if (known === undefined) {
    if (state.calibrations.length < mostCalibrations) state.calibrations.push({ probe, timeMs });
  } else known.timeMs = Math.max(known.timeMs, timeMs);
}

/** What an alarm of an edge is: its kind's id, what it says, and what a person looks at first. */
export const edgeFault = {
  id: 'edge_fault',
  means:
    'Not the water: a connection of the hub does not work (serial line, broker, time-series server, disk), or the hub found a fault of its own. The probes behind it get no lines of their own.',
  firstLook: 'what the line names: plug, network, disk. Then `/health` on the hub, which lists each part.',
} as const;

/** Notes that an edge came or went; whether that is an alarm is for time to tell. */
export function stepEdge(index: RoomIndex, edge: EdgeEvidence): void {
  const { state, nowMs } = index;
  const { name, isUp, detail, isOver } = edge;
  const kind = { ...(edge.isUrgent === true && { isUrgent: true }), ...(isOver === true && { isOver: true }) };
  const probes = [...(edge.probes ?? [])];
  const known = state.edges.find((other) => other.name === name);
  if (known === undefined) {
    if (state.edges.length >= mostEdges) return;
    state.edges.push({ name, isUp, detail, probes, changedMs: nowMs, ...kind });
  } else {
    // What is over and happens again has its day again.
    if (known.isUp !== isUp || isOver === true) known.changedMs = nowMs;
    Object.assign(known, { isUp, detail, probes, ...kind });
  }
  noteEdges(index);
}

/** Judges the edges when time has passed. */
export function judgeEdges(index: RoomIndex): void {
  const { state, nowMs, events } = index;
  for (const edge of state.edges) {
    const id = `room/edges/${edgeFault.id}/${edge.name}`;
    if (edge.isUp && !index.others.has(id)) continue;
    const priority = edge.isUrgent === true ? ('high' as const) : ('medium' as const);
    const subject = { id, system: '', metric: '' as const, rule: edgeFault.id, priority };
    const record = otherAlarm(index, subject);
    record.priority = priority;
    const isPast = edge.isOver === true && (record.isAcknowledged || nowMs - edge.changedMs >= dayMs);
    if (isPast && record.isLatched) edge.isUp = true;
    const isAtOnce = edge.isUrgent === true || edge.isOver === true;
    const hasChanged = observe(
      record,
      isAtOnce ? atOnceSettings : edgeSettings,
      edge.isUp ? 'normal' : 'abnormal',
      nowMs,
    );
    // Whether the hub works is told each time that it changes.
    if (isAtOnce || isOwnPart(edge.name)) forgetComings(record);
    const isWorse = !edge.isUp && noteReach(record, undefined, 0, nowMs);
    if (hasChanged || isWorse) {
      record.message = (record.isLatched ? downMessage(edge, nowMs) : upMessage(edge)) + comingsText(record, nowMs);
    }
    settle(record, edgeSettings, gateOf(index, record), nowMs, events);
  }
}

/** Parts of the hub itself have no cable. */
function isOwnPart(name: string): boolean {
  return name === 'hub' || name === 'store' || name.startsWith('store/');
}

function downMessage({ name, detail, probes, changedMs, isUrgent, isOver }: EdgeMemory, nowMs: number): string {
  if (isUrgent === true || isOver === true) return detail;
  const told = detail.replace(/\.+$/, '');
  const down = durationText(nowMs - changedMs);
  if (name === 'notices')
    return `Some notices have not been delivered for ${down}: ${told}. Look at the page, and at the access rules of the broker.`;
  if (name.endsWith('/trouble')) return `The ${name.split('/')[0]} has had trouble for ${down}: ${told}.`;
  if (isOwnPart(name))
    return `The ${name === 'hub' ? 'hub itself' : name} has had a fault for ${down}: ${told}. Look at its log and at the free space of its disk.`;
  const behind = probes.length === 0 ? '' : ` ${probes.length} probes silent.`;
  // What the system calls a pulled plug helps nobody.
  if (isBoard(name) && told.startsWith('unplugged'))
    return `${inWords(name)} unplugged for ${down}.${behind} Check its plug, its cable and its power.`;
  return `${inWords(name)} has been down for ${down}: ${told}.${behind} Check its power, its cable and the network.`;
}

const isBoard = (edge: string) => edge.startsWith('serial:');

/** The name of an edge in a line for people. */
function inWords(name: string): string {
  return isBoard(name) ? `Probe board ${name.slice('serial:'.length)}` : name;
}

function upMessage({ name, isOver }: EdgeMemory): string {
  if (isOver === true) return 'The record goes on.';
  return name === 'store/saving' ? 'Readings and entries are being saved again.' : `${inWords(name)} is up again.`;
}
