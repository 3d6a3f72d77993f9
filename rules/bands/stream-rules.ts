import type { Reading } from '../quality/reading.ts';
import type { AlarmEvent } from './alarm-event.ts';
import { gateOf } from './causes.ts';
import { type Condition, conditionAbove, conditionBelow } from './condition.ts';
import { type AlarmRecord, newAlarm, observe, settle } from './life-cycle.ts';
import type { RoomIndex, Stream } from './room-index.ts';
import type { RoomState } from './room-state.ts';
import { type RuleSettings, type SlotName, slots } from './rule-settings.ts';
import { learnHabit, silenceAllowedMs, silentCondition } from './silent-probe.ts';
import { streamMessage, streamReturnMessage } from './stream-messages.ts';

/** What a step works on; made once for each step that needs it. */
export type Events = AlarmEvent[];

const sides: Partial<Record<SlotName, string>> = { above: '/high', below: '/low' };

/**
 * Lets one reading move the rules of its stream. The usual good reading allocates nothing.
 *
 * @param events  the shared empty list, or one that this step owns
 * @returns the same list, or a new one when there is something to tell
 */
export function stepReading(
  index: RoomIndex,
  state: RoomState,
  stream: Stream,
  reading: Reading,
  nowMs: number,
  events: Events,
): Events {
  const { quality } = reading;
  if (quality.flag === 'missing') return events;
  const { series, plan } = stream;
  // A stamp ahead of the clock must not open the future: it would silence every later reading as late.
  const timeMs = Math.min(reading.timeMs, nowMs);
  if (series.hasSpoken && timeMs <= series.heardMs) {
    // Late or repeated readings move nothing. When the clock itself is behind the last reading, it has stepped back.
    if (nowMs >= series.heardMs) return events;
  } else if (series.hasSpoken) {
    learnHabit(series.habit, timeMs - series.heardMs);
  }
  series.hasSpoken = true;
  series.heardMs = timeMs;
  let told = events;
  if (series.alarms[slots.silent] !== null) told = feed(index, state, stream, 'silent', 'normal', timeMs, nowMs, told);
  if (isInMaintenance(state, series.system, series.probe, nowMs)) return told;
  if (quality.flag !== 'pass' && quality.flag !== 'not_evaluated') return told;
  const { value } = quality;
  series.goodValue = value;
  series.goodMs = timeMs;
  const { above, below } = plan.stream;
  if (above !== undefined) {
    const condition = conditionAbove(value, above.limit, above.deadband);
    if (condition === 'abnormal' || series.alarms[slots.above] !== null) {
      told = feed(index, state, stream, 'above', condition, timeMs, nowMs, told);
    }
  }
  if (below !== undefined) {
    const condition = conditionBelow(value, below.limit, below.deadband);
    if (condition === 'abnormal' || series.alarms[slots.below] !== null) {
      told = feed(index, state, stream, 'below', condition, timeMs, nowMs, told);
    }
  }
  return told;
}

/** Judges the silence of a stream when time has passed. */
export function stepSilence(index: RoomIndex, state: RoomState, stream: Stream, nowMs: number, events: Events): Events {
  const { series, plan } = stream;
  if (plan.stream.silent === undefined) return events;
  const sinceMs = Math.max(series.heardMs, state.listeningSinceMs);
  const allowedMs = silenceAllowedMs(series.habit, stream.everyMs, plan.defaults.isStreamed);
  const isHeardAgain = series.hasSpoken && series.heardMs >= state.listeningSinceMs;
  const condition = silentCondition(nowMs - sinceMs, allowedMs, isHeardAgain);
  if (condition !== 'abnormal' && series.alarms[slots.silent] === null) return events;
  return feed(index, state, stream, 'silent', condition, nowMs, nowMs, events);
}

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
  const settings = stream.plan.stream[slot];
  if (settings === undefined) return events;
  const { series } = stream;
  const known = series.alarms[slots[slot]];
  if ((known === null || known === undefined) && condition !== 'abnormal') return events;
  const record = known ?? addAlarm(stream, slot, settings);
  const changed = observe(record, settings, condition, timeMs, gapToleranceOf(stream, settings));
  if (!changed) return events;
  record.priority = settings.priority;
  record.value = series.goodValue;
  record.message = record.isLatched
    ? streamMessage(stream, slot, record.abnormalSinceMs ?? timeMs, nowMs)
    : streamReturnMessage(stream, slot);
  const own = events.length === 0 ? [] : events;
  settle(record, settings, gateOf(index, state, record, nowMs), nowMs, own);
  return own.length === 0 ? events : own;
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

/** True while nothing of the probe is judged by design. */
export function isInMaintenance(state: RoomState, system: string, probe: string, nowMs: number): boolean {
  if (state.maintenance.length === 0) return false;
  return state.maintenance.some(
    (window) => window.system === system && (window.probe ?? probe) === probe && nowMs < window.untilMs,
  );
}
