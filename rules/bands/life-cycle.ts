import { hourMs } from '../clock/durations.ts';
import { defined } from '../plain-data/defined.ts';
import type { AlarmEvent } from './alarm-event.ts';
import type { AlarmRecord } from './alarm-record.ts';
import { comingsOf, expectedUntilMs, withComing } from './comings.ts';
import type { Condition } from './condition.ts';

/**
 * The life of one alarm by IEC 62682 (ISA-18.2): on-delay, off-delay, acknowledged or not on both sides of the return to
 * normal, shelved, suppressed by design or by its cause, chattering (`comings.ts`), raised again. Two questions are kept apart: does the
 * condition hold (`observe`, moved by evidence alone), and has the world been told (`settle`). Clause numbers are from memory.
 *
 * Every function changes the record that it is given.
 */

/** Standing longer than this is stale (IEC 62682: 24 h). */
export const staleAfterMs = 24 * hourMs;
/** No alarm may be shelved for longer: what is shelved for good is forgotten. */
export const longestShelvingMs = 7 * 24 * hourMs;

export type LifeSettings = {
  /** How long a condition must hold, by the readings, before the alarm is raised. */
  onDelayMs: number;
  /** How long it must be back to normal, by the readings, before the alarm clears. */
  offDelayMs: number;
  /** A longer gap between two readings starts both delays again. */
  gapToleranceMs: number;
  /** An acknowledged alarm that still stands is raised again after so long; absent: never. */
  reAlarmMs?: number;
};

/**
 * Moves the record by what a rule saw.
 *
 * @param timeMs  UTC milliseconds of the evidence; a time before the last one (the clock stepped back) starts the delays again
 * @param gapToleranceMs  used in place of the setting where the stream is known to be slower
 * @returns whether the condition was latched or unlatched by it
 */
export function observe(
  record: AlarmRecord,
  settings: LifeSettings,
  condition: Condition,
  timeMs: number,
  gapToleranceMs: number = settings.gapToleranceMs,
): boolean {
  if (condition === 'unknown') return false;
  if (record.seenMs !== null && (timeMs < record.seenMs || timeMs - record.seenMs > gapToleranceMs)) {
    // Nobody knows what happened in between, so it counts neither towards raising nor towards clearing.
    record.normalSinceMs = null;
    if (!record.isLatched) record.abnormalSinceMs = null;
  }
  record.seenMs = timeMs;
  if (condition === 'abnormal') {
    record.normalSinceMs = null;
    if (record.isLatched) return false;
    record.abnormalSinceMs ??= timeMs;
    if (timeMs - record.abnormalSinceMs < settings.onDelayMs) return false;
    latch(record, timeMs);
    return true;
  }
  if (!record.isLatched) {
    record.abnormalSinceMs = null;
    return false;
  }
  if (condition === 'deadband') {
    record.normalSinceMs = null;
    return false;
  }
  record.normalSinceMs ??= timeMs;
  if (timeMs - record.normalSinceMs < settings.offDelayMs) return false;
  unlatch(record, timeMs);
  return true;
}

/** Ends the condition without waiting: its rule was switched off, or what it watched is gone. */
export function unlatch(record: AlarmRecord, timeMs: number): void {
  record.isLatched = false;
  record.endedMs = timeMs;
  record.abnormalSinceMs = null;
  record.normalSinceMs = null;
}

function latch(record: AlarmRecord, timeMs: number): void {
  record.isLatched = true;
  // Times ahead of this one were stamped by a clock that has since stepped back.
  record.latchings = [...record.latchings.filter((at) => at <= timeMs), timeMs].slice(-3);
  record.comings = withComing(record);
}

/** For what is told each time that it comes: a test by hand, a part of the hub itself. */
export function forgetComings(record: AlarmRecord): void {
  record.latchings = record.latchings.slice(-1);
  delete record.comings;
}

/** Something about it may still have to be told. */
export function isAlive(record: AlarmRecord): boolean {
  return record.isLatched || record.isTold || record.shelvedUntilMs !== null;
}

/** It comes and goes for what is most likely one cause. */
export function isChattering(record: Pick<AlarmRecord, 'latchings'>): boolean {
  return comingsOf(record.latchings) > 0;
}

/** Told, over, and expected again: it stays active without ringing. */
export function isExpectedAgain(record: AlarmRecord): boolean {
  return record.isTold && expectedUntilMs(record) !== undefined;
}

/** Why an alarm that holds is not told now. `weak` causes only keep it from being told, they do not withdraw it. */
export type Gate = { is: 'open' } | { is: 'weak' | 'strong'; cause: string };

export const openGate: Gate = { is: 'open' };

/**
 * Tells the world what has changed, and appends the events.
 *
 * @param nowMs  UTC milliseconds
 * @param gate   whether a cause or a maintenance window hides it now
 */
export function settle(
  record: AlarmRecord,
  settings: Pick<LifeSettings, 'reAlarmMs'>,
  gate: Gate,
  nowMs: number,
  events: AlarmEvent[],
): void {
  if (record.shelvedUntilMs !== null) {
    // A clock that stepped back must not shelve for longer than anybody may.
    record.shelvedUntilMs = Math.min(record.shelvedUntilMs, nowMs + longestShelvingMs);
    if (nowMs >= record.shelvedUntilMs) endShelving(record, nowMs, events);
  }
  if (!record.isLatched) {
    if (record.isTold && !isExpectedAgain(record)) clear(record, nowMs, events);
    return;
  }
  if (!record.isTold) {
    if (gate.is === 'open' && record.shelvedUntilMs === null) raise(record, 'raised', nowMs, events);
    return;
  }
  const isHidden = gate.is === 'strong';
  if (isHidden !== record.isSuppressed) {
    record.isSuppressed = isHidden;
    tell(record, isHidden ? 'suppressed' : 'unsuppressed', nowMs, events);
  }
  if (isHidden || record.shelvedUntilMs !== null) return;
  if (record.comings?.isWorse === true) {
    raise(record, 'reraised', nowMs, events);
    return;
  }
  if (record.isAcknowledged && settings.reAlarmMs !== undefined && record.acknowledgedMs !== null) {
    if (record.acknowledgedMs > nowMs) record.acknowledgedMs = nowMs;
    if (nowMs - record.acknowledgedMs >= settings.reAlarmMs) raise(record, 'reraised', nowMs, events);
  }
}

/** A person has seen it, while it stands or after it cleared by itself. Nothing to acknowledge: no event. */
export function acknowledge(record: AlarmRecord, by: string, nowMs: number, events: AlarmEvent[]): void {
  const isWaiting = (record.isTold && !record.isAcknowledged) || record.isReturned;
  if (!isWaiting) return;
  record.isReturned = false;
  if (record.isTold) {
    record.isAcknowledged = true;
    record.acknowledgedMs = nowMs;
  }
  tell(record, 'acknowledged', nowMs, events, by);
}

type Asked = { by: string; why?: string };

/** Hides it until a time, at most seven days ahead. A time that has passed does nothing. */
export function shelve(record: AlarmRecord, untilMs: number, asked: Asked, nowMs: number, events: AlarmEvent[]): void {
  if (!(untilMs > nowMs)) return;
  record.shelvedUntilMs = Math.min(untilMs, nowMs + longestShelvingMs);
  tell(record, 'shelved', nowMs, events, asked.by, asked.why);
}

/** Ends a shelving before its time. */
export function unshelve(record: AlarmRecord, by: string, nowMs: number, events: AlarmEvent[]): void {
  if (record.shelvedUntilMs !== null) endShelving(record, nowMs, events, by);
}

function endShelving(record: AlarmRecord, nowMs: number, events: AlarmEvent[], by?: string): void {
  record.shelvedUntilMs = null;
  tell(record, 'unshelved', nowMs, events, by);
  // It comes back as an alarm that nobody has seen yet, else it would stand there in silence.
  if (record.isLatched && record.isTold && !record.isSuppressed) raise(record, 'reraised', nowMs, events);
}

function raise(record: AlarmRecord, state: 'raised' | 'reraised', nowMs: number, events: AlarmEvent[]): void {
  record.isTold = true;
  record.isAcknowledged = false;
  record.acknowledgedMs = null;
  record.isReturned = false;
  record.occurrence += 1;
  record.told = [];
  tell(record, state, nowMs, events);
  if (record.comings !== undefined) Object.assign(record.comings, { isTold: true, isWorse: false });
}

function clear(record: AlarmRecord, nowMs: number, events: AlarmEvent[]): void {
  record.isTold = false;
  record.isReturned = !record.isAcknowledged;
  record.isAcknowledged = false;
  record.acknowledgedMs = null;
  record.isSuppressed = false;
  tell(record, 'cleared', nowMs, events);
}

function tell(
  record: AlarmRecord,
  state: AlarmEvent['state'],
  timeMs: number,
  events: AlarmEvent[],
  by?: string,
  why?: string,
): void {
  if (record.told.includes(state)) {
    record.occurrence += 1;
    record.told = [];
  }
  record.told.push(state);
  events.push({
    timeMs,
    alarm: record.id,
    occurrence: record.occurrence,
    state,
    system: record.system,
    metric: record.metric,
    rule: record.rule,
    priority: record.priority,
    ...(record.value === null ? {} : { value: record.value }),
    message: record.message,
    ...defined({ by, why }),
  });
}
