import { metricFacts, metrics } from '../quantity/metric.ts';
import type { AlarmEvent } from './alarm-event.ts';
import { gateOf } from './causes.ts';
import { conditionBelow } from './condition.ts';
import type { ContainerEvidence, EdgeEvidence } from './evidence.ts';
import { observe, settle } from './life-cycle.ts';
import { overdueCondition } from './overdue.ts';
import { feedRoomAlarm } from './room-alarm.ts';
import { noteEdges, otherAlarm, type RoomIndex } from './room-index.ts';
import { planOf } from './room-rules.ts';
import type { EdgeMemory, RoomState } from './room-state.ts';
import type { RuleSettings } from './rule-settings.ts';
import { durationText } from './words.ts';

/** Rules about what keeps the room going: containers, tests and calibrations that are due, and the edges of the hub. */

const minuteMs = 60_000;
const dayMs = 86_400_000;
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

/** A container that runs out. */
export function stepContainer(
  index: RoomIndex,
  state: RoomState,
  container: ContainerEvidence,
  nowMs: number,
  events: AlarmEvent[],
): void {
  const settings = planOf(index.rules, container.system, 'alkalinity')?.other.containerLow;
  if (settings === undefined) return;
  const lasts = durationText(Math.max(0, container.daysLeft) * dayMs);
  const about = {
    system: container.system,
    metric: '' as const,
    tail: `/${container.stock}`,
    say: () => ({
      raised: `The container of ${container.stock} lasts ${lasts} at the present use. Make or buy more and fill it up.`,
      cleared: `The container of ${container.stock} lasts ${lasts}.`,
    }),
  };
  const condition = conditionBelow(container.daysLeft, settings.limit, settings.deadband);
  feedRoomAlarm(index, state, settings, about, condition, nowMs, events);
}

export function stepCalibration(state: RoomState, probe: string, timeMs: number): void {
  const known = state.calibrations.find((calibration) => calibration.probe === probe);
  if (known === undefined) {
    if (state.calibrations.length < mostCalibrations) state.calibrations.push({ probe, timeMs });
  } else known.timeMs = Math.max(known.timeMs, timeMs);
}

/** Notes that an edge came or went; whether that is an alarm is for time to tell. */
export function stepEdge(index: RoomIndex, state: RoomState, edge: EdgeEvidence, nowMs: number): void {
  const { name, isUp, detail, isOver } = edge;
  const kind = { ...(edge.isUrgent === true && { isUrgent: true }), ...(isOver === true && { isOver: true }) };
  const probes = [...(edge.probes ?? [])];
  const known = state.edges.find((other) => other.name === name);
  if (known === undefined) {
    if (state.edges.length >= mostEdges) return;
    state.edges.push({ name, isUp, detail, probes, changedMs: nowMs, ...kind });
  } else {
    // What is over and happens again has its day anew.
    if (known.isUp !== isUp || isOver === true) known.changedMs = nowMs;
    Object.assign(known, { isUp, detail, probes, ...kind });
  }
  noteEdges(index, state);
}

/** Judges the edges when time has passed. */
export function judgeEdges(index: RoomIndex, state: RoomState, nowMs: number, events: AlarmEvent[]): void {
  for (const edge of state.edges) {
    const id = `room/edges/edge_fault/${edge.name}`;
    if (edge.isUp && !index.others.has(id)) continue;
    const priority = edge.isUrgent === true ? ('high' as const) : ('medium' as const);
    const subject = { id, system: '', metric: '' as const, rule: 'edge_fault' as const, priority };
    const record = otherAlarm(index, state, subject);
    record.priority = priority;
    const isPast = edge.isOver === true && (record.isAcknowledged || nowMs - edge.changedMs >= dayMs);
    if (isPast && record.isLatched) edge.isUp = true;
    const settings = edge.isUrgent === true || edge.isOver === true ? atOnceSettings : edgeSettings;
    if (observe(record, settings, edge.isUp ? 'normal' : 'abnormal', nowMs)) {
      record.message = record.isLatched ? downMessage(edge, nowMs) : upMessage(edge);
    }
    settle(record, edgeSettings, gateOf(state, record, nowMs), nowMs, events);
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
  if (isOwnPart(name))
    return `The ${name === 'hub' ? 'hub itself' : name} has had a fault for ${down}: ${told}. Look at its log and at the free space of its disk.`;
  const behind = probes.length === 0 ? '' : ` ${probes.length} probes are not heard meanwhile.`;
  return `${name} has been down for ${down}: ${told}.${behind} Check its power, its cable and the network.`;
}

function upMessage({ name, isOver }: EdgeMemory): string {
  if (isOver === true) return 'The record goes on.';
  return name === 'store/saving' ? 'Readings and entries are being saved again.' : `${name} is up again.`;
}

/** Judges what people do every so many days. */
export function judgeOverdue(index: RoomIndex, state: RoomState, nowMs: number, events: AlarmEvent[]): void {
  for (const system of index.rules.systems.values()) {
    for (const metric of metrics) {
      const plan = planOf(index.rules, system.id, metric);
      const settings = plan?.other.testOverdue;
      if (settings === undefined) continue;
      const isAsked = system.testEveryDays?.[metric] !== undefined;
      const testedMs = index.analytes.get(`${system.id}/${metric}`)?.tests.at(-1)?.timeMs;
      // Nobody who never tests an analyte is told to, unless the configuration says that it shall be tested.
      const lastMs =
        latest(testedMs, lastReadingMs(index, system.id, metric)) ?? (isAsked ? state.startedMs : undefined);
      const { label } = metricFacts[metric];
      const about = {
        system: system.id,
        metric,
        tail: '',
        say: () => ({
          raised:
            testedMs === undefined
              ? `${label} has not been tested; a test is due every ${settings.limit} days.`
              : `${label} was last tested ${durationText(nowMs - testedMs)} ago; a test is due every ${settings.limit} days.`,
          cleared: `${label} was tested.`,
        }),
      };
      feedRoomAlarm(
        index,
        state,
        settings,
        about,
        overdueCondition(lastMs ?? undefined, settings.limit, nowMs),
        nowMs,
        events,
      );
    }
  }
  for (const calibration of state.calibrations) judgeCalibration(index, state, calibration, nowMs, events);
}

function judgeCalibration(
  index: RoomIndex,
  state: RoomState,
  calibration: { probe: string; timeMs: number },
  nowMs: number,
  events: AlarmEvent[],
): void {
  for (const { system, probe } of index.rules.probes.values()) {
    // What is derived from a probe shares its id and needs no calibration of its own.
    if (probe.id !== calibration.probe || (probe.derivedFrom?.length ?? 0) > 0) continue;
    const settings: RuleSettings | undefined = planOf(index.rules, system, probe.metric)?.other.calibrationOverdue;
    if (settings === undefined) continue;
    const { label } = metricFacts[probe.metric];
    const about = {
      system,
      metric: probe.metric,
      tail: `/${probe.id}`,
      say: () => ({
        raised: `${label}: ${probe.id} was last calibrated ${durationText(nowMs - calibration.timeMs)} ago; every ${settings.limit} days is usual. Calibrate it with fresh standards.`,
        cleared: `${label}: ${probe.id} was calibrated.`,
      }),
    };
    const condition = overdueCondition(calibration.timeMs, settings.limit, nowMs);
    feedRoomAlarm(index, state, settings, about, condition, nowMs, events);
  }
}

function lastReadingMs(index: RoomIndex, system: string, metric: (typeof metrics)[number]): number | undefined {
  let last: number | undefined;
  for (const { series } of index.byName.get(metric)?.get(system)?.values() ?? []) {
    if (series.goodValue !== null) last = latest(last, series.goodMs);
  }
  return last;
}

function latest(a: number | undefined, b: number | undefined): number | undefined {
  if (a === undefined) return b;
  return b === undefined ? a : Math.max(a, b);
}
