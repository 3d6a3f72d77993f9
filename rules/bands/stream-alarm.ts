import type { AlarmEvent } from './alarm-event.ts';
import { gateOfStream } from './causes.ts';
import type { Condition } from './condition.ts';
import { type AlarmRecord, newAlarm, observe, settle } from './life-cycle.ts';
import type { RoomIndex, Stream } from './room-index.ts';
import type { RoomState } from './room-state.ts';
import { type RuleSettings, type SlotName, slots } from './rule-settings.ts';
import { hintFor } from './stream-hint.ts';
import { streamMessage, streamReturnMessage } from './stream-messages.ts';

/** The events of one step: a shared empty list until there is something to tell. */
export type Events = AlarmEvent[];

const sides: Partial<Record<SlotName, string>> = { above: '/high', below: '/low' };

/** Moves one alarm of a stream and tells what changed. */
export function feed(
  index: RoomIndex,
  state: RoomState,
  stream: Stream,
  slot: SlotName,
  condition: Condition,
  timeMs: number,
  nowMs: number,
  events: Events,
): Events {
  const record = move(index, stream, slot, condition, timeMs, nowMs);
  if (record === undefined) return events;
  const own = events.length === 0 ? [] : events;
  settle(record, stream.plan.stream[slot] ?? {}, gateOfStream(index, state, stream, slot, nowMs), nowMs, own);
  return own.length === 0 ? events : own;
}

/**
 * Moves one alarm of a stream without telling anything yet.
 *
 * @returns the alarm when its condition began or ceased to hold
 */
export function move(
  index: RoomIndex,
  stream: Stream,
  slot: SlotName,
  condition: Condition,
  timeMs: number,
  nowMs: number,
): AlarmRecord | undefined {
  const settings = stream.plan.stream[slot];
  if (settings === undefined) return undefined;
  const { series } = stream;
  const known = series.alarms[slots[slot]];
  if ((known === null || known === undefined) && condition !== 'abnormal') return undefined;
  const record = known ?? addAlarm(stream, slot, settings);
  if (!observe(record, settings, condition, timeMs, gapToleranceOf(stream, settings))) return undefined;
  record.priority = settings.priority;
  record.value = series.goodValue;
  record.message = record.isLatched
    ? streamMessage(stream, slot, record.abnormalSinceMs ?? timeMs, nowMs, hintFor(index, stream, slot, nowMs))
    : streamReturnMessage(stream, slot);
  return record;
}

function addAlarm(stream: Stream, slot: SlotName, settings: RuleSettings): AlarmRecord {
  const { series } = stream;
  const side = sides[slot] ?? '';
  const probe = series.isNamed ? `/${series.probe}` : '';
  const record = newAlarm({
    id: `${series.system}/${series.metric}/${settings.rule}${side}${probe}`,
    system: series.system,
    metric: series.metric,
    rule: settings.rule,
    priority: settings.priority,
  });
  series.alarms[slots[slot]] = record;
  return record;
}

/** A slow stream has long gaps by nature: three of its usual intervals are never a gap. */
function gapToleranceOf(stream: Stream, settings: RuleSettings): number {
  return Math.max(settings.gapToleranceMs, 3 * stream.series.habit.typicalMs);
}
