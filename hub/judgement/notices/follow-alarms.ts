import type { AlarmEvent } from '#rules/bands/alarm-event.ts';
import { isRepeated } from './dedup.ts';
import { mostRemarks, type NoticeState, type OpenNotice, rank } from './notice-state.ts';
import { clearedLine } from './phone-line.ts';

/** An event of the rules with its words for the phone: system and message. */
export type AlarmNews = { event: AlarmEvent; text: string };

const togetherText = 'all alarms sent together have ended';

/**
 * First stage: what the events do to the notices. A raise opens one, an end closes it and is told only when the raise was; an
 * acknowledgement silences it until the alarm escalates.
 */
export function followAlarms(state: NoticeState, news: readonly AlarmNews[], nowMs: number): void {
  for (const each of news) if (!isRepeated(state, each.event)) follow(state, each, nowMs);
}

function follow(state: NoticeState, { event, text }: AlarmNews, nowMs: number): void {
  const open = state.open.find(({ alarm }) => alarm === event.alarm);
  switch (event.state) {
    case 'raised':
    case 'reraised':
      if (open === undefined) state.open.push(openedBy(event, text, nowMs));
      else if (event.state === 'reraised' || rank[event.priority] < rank[open.priority])
        Object.assign(open, openedBy(event, text, nowMs));
      // Less urgent than it was: what a person knows of it still holds.
      else Object.assign(open, { occurrence: event.occurrence, priority: event.priority, text });
      return;
    case 'cleared':
      if (open !== undefined) close(state, open, event, text, nowMs);
      return;
    case 'acknowledged':
      if (open !== undefined) open.isAcknowledged = true;
      return;
    case 'shelved':
    case 'unshelved':
      if (open !== undefined) hide(open, { isShelved: event.state === 'shelved' }, nowMs);
      return;
    case 'suppressed':
    case 'unsuppressed':
      if (open !== undefined) hide(open, { isSuppressed: event.state === 'suppressed' }, nowMs);
  }
}

/** Whoever did not have to act meanwhile gets the whole time to do so when it comes back. */
function hide(notice: OpenNotice, change: Partial<OpenNotice>, nowMs: number): void {
  Object.assign(notice, change);
  if (notice.toldMs !== null) notice.toldMs = nowMs;
}

export function eventKey(event: AlarmEvent): string {
  return `${event.alarm}#${event.occurrence}#${event.state}#${event.timeMs}`;
}

function openedBy(event: AlarmEvent, text: string, nowMs: number): OpenNotice {
  const { alarm, occurrence, system, priority } = event;
  return {
    alarm,
    occurrence,
    system,
    priority,
    text,
    key: eventKey(event),
    sinceMs: nowMs,
    isAcknowledged: false,
    isShelved: false,
    isSuppressed: false,
    isWithheld: false,
    toldMs: null,
    toldBy: null,
    lastSaidMs: null,
    repeats: 0,
    isEscalated: false,
    isAbsent: false,
  };
}

function close(state: NoticeState, open: OpenNotice, event: AlarmEvent, text: string, nowMs: number): void {
  state.open = state.open.filter((notice) => notice !== open);
  if (open.toldBy === null) return;
  const isOneOfMany = open.toldBy === 'summary';
  if (isOneOfMany && state.open.some(({ toldBy }) => toldBy === 'summary')) return;
  state.remarks.push({
    key: isOneOfMany ? `together#${eventKey(event)}` : eventKey(event),
    system: event.system,
    priority: open.priority,
    line: clearedLine(isOneOfMany ? togetherText : text),
    kind: 'cleared',
    sinceMs: nowMs,
    isWithheld: false,
    isForEscalated: open.isEscalated,
  });
  state.remarks = state.remarks.slice(-mostRemarks);
}
