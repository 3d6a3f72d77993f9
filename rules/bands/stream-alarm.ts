import { type AlarmRecord, newAlarm } from './alarm-record.ts';
import { gateOfStream } from './causes.ts';
import { comingsText, noteReach } from './comings.ts';
import type { Condition } from './condition.ts';
import { type SlotName, slots, streamAlarms } from './kinds/list.ts';
import { observe, settle } from './life-cycle.ts';
import type { RoomIndex, Stream } from './room-index.ts';
import type { RuleSettings } from './rule-settings.ts';
import { hintFor } from './stream-hint.ts';
import { streamMessage, streamReturnMessage } from './stream-messages.ts';

/** Moves one alarm of a stream and tells what changed. */
export function feed(room: RoomIndex, stream: Stream, slot: SlotName, condition: Condition, timeMs: number): void {
  const record = move(room, stream, slot, condition, timeMs);
  if (record === undefined) return;
  settle(record, stream.plan.stream[slot] ?? {}, gateOfStream(room, stream, slot), room.nowMs, room.events);
}

/**
 * Moves one alarm of a stream without telling anything yet.
 *
 * @returns the alarm when its condition began or ceased to hold, or became worse than what was told of it
 */
export function move(
  room: RoomIndex,
  stream: Stream,
  slot: SlotName,
  condition: Condition,
  timeMs: number,
): AlarmRecord | undefined {
  const settings = stream.plan.stream[slot];
  if (settings === undefined) return undefined;
  const { series } = stream;
  const known = series.alarms[slots[slot]];
  if ((known === null || known === undefined) && condition !== 'abnormal') return undefined;
  const record = known ?? addAlarm(stream, slot, settings);
  const hasChanged = observe(record, settings, condition, timeMs, gapToleranceOf(stream, settings));
  const isWorse =
    condition === 'abnormal' &&
    noteReach(record, streamAlarms[slot].alarm.reach?.(series, settings), settings.deadband, timeMs);
  if (!hasChanged && !isWorse) return undefined;
  record.priority = settings.priority;
  record.value = series.goodValue;
  record.message = record.isLatched
    ? streamMessage(stream, slot, record.abnormalSinceMs ?? timeMs, room.nowMs, hintFor(room, stream, slot)) +
      comingsText(record, room.nowMs)
    : streamReturnMessage(stream, slot) + comingsText(record, room.nowMs);
  return record;
}

function addAlarm(stream: Stream, slot: SlotName, settings: RuleSettings): AlarmRecord {
  const { series } = stream;
  const { idEnd = '' } = streamAlarms[slot].alarm;
  const probe = series.isNamed ? `/${series.probe}` : '';
  const record = newAlarm({
    id: `${series.system}/${series.metric}/${settings.rule}${idEnd}${probe}`,
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
