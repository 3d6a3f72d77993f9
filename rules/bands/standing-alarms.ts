import type { Metric } from '../quantity/metric.ts';
import type { AlarmRecord } from './alarm-record.ts';
import { comingsText } from './comings.ts';
import { type SlotName, streamAlarms } from './kinds/list.ts';
import { isChattering, isExpectedAgain, staleAfterMs } from './life-cycle.ts';
import { indexOf, type RoomIndex, type Stream } from './room-index.ts';
import type { RoomRules } from './room-rules.ts';
import type { RoomState } from './room-state.ts';
import { slots } from './rule-settings.ts';
import { hintFor } from './stream-hint.ts';
import { streamMessage, streamReturnMessage } from './stream-messages.ts';
import type { Priority, RuleKind } from './watched-room.ts';

const slotNames = Object.keys(slots) as SlotName[];

/** States of an alarm by IEC 62682. `returned_unacknowledged` cleared by itself before anybody saw it. */
export type AlarmState = 'unacknowledged' | 'acknowledged' | 'returned_unacknowledged' | 'shelved' | 'suppressed';

export type StandingAlarm = {
  id: string;
  system: string;
  metric: Metric | '';
  rule: RuleKind | 'edge_fault';
  priority: Priority;
  state: AlarmState;
  /** The condition still holds, or it comes and goes and is expected again. */
  isStanding: boolean;
  /** When the condition began, or for a returned alarm when it ended. UTC milliseconds. */
  sinceMs: number;
  /** In the metric's store unit, as last known. */
  value?: number;
  message: string;
  occurrence: number;
  /** While shelved. */
  untilMs?: number;
  /** Its probe says nothing, so it stays as it was last known. */
  isFrozen: boolean;
  isChattering: boolean;
  /** It has stood for more than a day. */
  isStale: boolean;
};

/** Every alarm that a person may want to see now: what holds, what is hidden and why, and what ended unseen. */
export function alarmsOf(rules: RoomRules, state: RoomState, nowMs: number): StandingAlarm[] {
  const index = indexOf(rules, state, nowMs);
  const standing: StandingAlarm[] = [];
  for (const stream of index.streams) {
    const { series } = stream;
    const isSilent = series.alarms[slots.silent]?.isLatched === true;
    for (const [slot, record] of series.alarms.entries()) {
      if (record === null) continue;
      const isWater = slot !== slots.silent;
      const message = isSilent ? record.message : textNow(index, stream, slot, record);
      add(standing, record, message, isSilent && isWater, isWater ? series.goodValue : null, nowMs);
    }
  }
  for (const record of state.alarms) add(standing, record, record.message, false, record.value, nowMs);
  return standing;
}

/** Ids of the alarms that stand only because they come and go: the value is back, and nobody is to be called for it. */
export function alarmsBack({ series, alarms }: Pick<RoomState, 'series' | 'alarms'>): Set<string> {
  const back = new Set<string>();
  const take = (record: AlarmRecord | null) => {
    if (record !== null && !record.isLatched && isExpectedAgain(record)) back.add(record.id);
  };
  for (const each of series) each.alarms.forEach(take);
  alarms.forEach(take);
  return back;
}

/** What still is so is told with the figures of now; what else was found is told as it was found. */
function textNow(index: RoomIndex, stream: Stream, slot: number, record: AlarmRecord): string {
  const found = slotNames.find((name) => slots[name] === slot);
  if (found !== undefined && isExpectedAgain(record))
    return streamReturnMessage(stream, found) + comingsText(record, index.nowMs);
  if (!record.isLatched || stream.series.goodValue === null) return record.message;
  // The alarm was stored as it was raised, and what its probe said last was not: the older value is none of now.
  if (stream.series.goodMs < (record.latchings.at(-1) ?? 0)) return record.message;
  const settings = found === undefined ? undefined : stream.plan.stream[found];
  if (found === undefined || settings === undefined) return record.message;
  if (streamAlarms[found].alarm.isTrueNow?.(stream.series.figures, settings) !== true) return record.message;
  const sinceMs = record.abnormalSinceMs ?? index.nowMs;
  return (
    streamMessage(stream, found, sinceMs, index.nowMs, hintFor(index, stream, found)) + comingsText(record, index.nowMs)
  );
}

function add(
  standing: StandingAlarm[],
  record: AlarmRecord,
  message: string,
  isFrozen: boolean,
  value: number | null,
  nowMs: number,
): void {
  const alarmState = stateOf(record);
  if (alarmState === undefined) return;
  const isComing = isExpectedAgain(record);
  const sinceMs =
    (record.isLatched ? record.abnormalSinceMs : isComing ? record.comings?.sinceMs : record.endedMs) ?? nowMs;
  standing.push({
    id: record.id,
    system: record.system,
    metric: record.metric,
    rule: record.rule,
    priority: record.priority,
    state: alarmState,
    isStanding: record.isLatched || isComing,
    sinceMs,
    ...(value === null ? {} : { value }),
    message,
    occurrence: record.occurrence,
    ...(record.shelvedUntilMs === null ? {} : { untilMs: record.shelvedUntilMs }),
    isFrozen: isFrozen && record.isLatched,
    isChattering: isComing || (record.isLatched && isChattering(record)),
    isStale: (record.isLatched || isComing) && nowMs - sinceMs > staleAfterMs,
  });
}

/** Undefined for an alarm that is neither holding nor waiting for anybody. */
function stateOf(record: AlarmRecord): AlarmState | undefined {
  if (record.shelvedUntilMs !== null) return 'shelved';
  if (record.isLatched || isExpectedAgain(record)) {
    if (!record.isTold || record.isSuppressed) return 'suppressed';
    return record.isAcknowledged ? 'acknowledged' : 'unacknowledged';
  }
  return record.isReturned ? 'returned_unacknowledged' : undefined;
}
