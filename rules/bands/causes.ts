import { minuteMs } from '../clock/durations.ts';
import type { Metric } from '../quantity/metric.ts';
import { silenceAllowedMs } from '../verdicts/silence.ts';
import type { AlarmRecord } from './alarm-record.ts';
import { type SlotName, slots, streamAlarms } from './kinds/list.ts';
import { type Gate, openGate } from './life-cycle.ts';
import type { RoomIndex, Stream } from './room-index.ts';
import { followsTemperature } from './temperature-effects.ts';

/**
 * What hides what, so that one cause is one alarm: a maintenance window hides all of its system, a dead edge the silence of
 * the probes behind it, a dead probe what is derived from it, a temperature fault the small moves that follow from it, and on
 * one stream the plain alarm hides the subtle ones about the same event, as each kind says.
 */

/** After a cause has ended, its effects get this long to end by themselves before they count as alarms of their own. */
const lingerMs = 30 * minuteMs;

/** Faults of a probe that make worthless what is computed from it. */
const probeFaults: readonly SlotName[] = ['silent', 'flat', 'impossible'];

/** Computed from conductivity (and temperature) wherever both are there. */
const fromConductivity: ReadonlySet<Metric> = new Set(['salinity', 'specific_gravity', 'specific_conductance_25']);

/** The same water said three ways: salinity speaks for the others. */
const echoesOfSalinity: ReadonlySet<Metric> = new Set(['conductivity', 'specific_conductance_25', 'specific_gravity']);

/** Whether a cause that is known hides this alarm of a stream now. */
export function gateOfStream(index: RoomIndex, stream: Stream, slot: SlotName): Gate {
  const { state, nowMs } = index;
  const { system, probe, metric } = stream.series;
  for (const window of state.maintenance) {
    if (window.system === system && (window.probe ?? probe) === probe && nowMs < window.untilMs) {
      return { is: 'strong', cause: 'maintenance' };
    }
  }
  if (slot === 'silent' && isEdgeAtFault(index, stream, nowMs)) return { is: 'strong', cause: 'edge' };
  const fellow = index.bySystem.get(system) ?? [];
  for (const other of fellow) {
    if (other !== stream && isDerivedFrom(stream, other) && hasAny(other, probeFaults, lingerMs, nowMs)) {
      return { is: 'strong', cause: other.series.probe };
    }
    if (other.series.metric === 'temperature' && followsTemperature(other, stream, slot)) {
      if (hasAny(other, ['above', 'below', 'rate'], lingerMs, nowMs)) return { is: 'strong', cause: 'temperature' };
    }
    if (other.series.metric === 'salinity' && echoesOfSalinity.has(metric) && slot !== 'silent') {
      if (hasAny(other, [slot], lingerMs, nowMs)) return { is: 'weak', cause: 'salinity' };
    }
  }
  const hiding = streamAlarms[slot].alarm.hiddenBy;
  if (hiding !== undefined && hasAny(stream, hiding.by, hiding.forMs, nowMs))
    return { is: 'weak', cause: 'same stream' };
  return openGate;
}

/** Whether maintenance hides an alarm that belongs to no stream. */
export function gateOf({ state, nowMs }: RoomIndex, record: AlarmRecord): Gate {
  for (const window of state.maintenance) {
    if (window.system === record.system && window.probe === undefined && nowMs < window.untilMs) {
      return { is: 'strong', cause: 'maintenance' };
    }
  }
  return openGate;
}

function isEdgeAtFault(index: RoomIndex, stream: Stream, nowMs: number): boolean {
  const { series } = stream;
  const upMs = index.edgeUpMs.get(series.probe);
  if (upMs === undefined) return false;
  const allowedMs = silenceAllowedMs(series.habit, stream.everyMs, stream.plan.defaults.isStreamed);
  if (nowMs - upMs <= (allowedMs ?? 0)) return true;
  // The silence that the edge caused is over, and waits only for its off-delay.
  const latchedMs = series.alarms[slots.silent]?.latchings.at(-1);
  return latchedMs !== undefined && latchedMs <= upMs && series.heardMs >= upMs;
}

function isDerivedFrom(stream: Stream, base: Stream): boolean {
  const { metric, probe } = base.series;
  // A value derived from a probe bears its id: it is the source when it is what a wire can carry.
  if (fromConductivity.has(metric) && fromConductivity.has(stream.series.metric)) return false;
  if (stream.derivedFrom.length > 0) return stream.derivedFrom.includes(probe);
  return metric === 'conductivity' && fromConductivity.has(stream.series.metric);
}

/** One of these alarms of the stream holds, or did within the time given. */
function hasAny(stream: Stream, names: readonly SlotName[], withinMs: number, nowMs: number): boolean {
  for (const name of names) {
    const record = stream.series.alarms[slots[name]];
    if (record === null || record === undefined) continue;
    if (record.isLatched) return true;
    if (record.endedMs !== null && record.endedMs <= nowMs && nowMs - record.endedMs < withinMs) return true;
  }
  return false;
}
