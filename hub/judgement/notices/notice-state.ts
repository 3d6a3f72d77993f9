import type { AlarmEvent } from '#rules/bands/alarm-event.ts';
import type { Priority } from '#rules/bands/watched-room.ts';
import { type ClockMove, moveOfStep } from '#rules/clock/clock-move.ts';

/** An alarm that stands, as far as the phone is concerned. Times are UTC milliseconds. */
export type OpenNotice = {
  alarm: string;
  occurrence: number;
  system: string;
  priority: Priority;
  /** System and message, as they were when it was raised. */
  text: string;
  /** Of its first notice. */
  key: string;
  sinceMs: number;
  isAcknowledged: boolean;
  isShelved: boolean;
  isSuppressed: boolean;
  /** It comes and goes, and the value is back for now: see `rules/bands/comings.ts`. */
  isBack?: boolean;
  /** It was due and the budget of the hour was spent: it waits for the summary. */
  isWithheld: boolean;
  toldMs: number | null;
  toldBy: 'line' | 'summary' | null;
  /** When the phone last heard of it, in whatever form. */
  lastSaidMs: number | null;
  repeats: number;
  isEscalated: boolean;
  /** What was said of it was lost on its way, and is said again from then on: see `owed.ts`. */
  owedFromMs?: number | null;
  /** The rules did not know it when they were last asked: see `reconcile.ts`. */
  isAbsent: boolean;
};

/** A line said once and never repeated: an alarm that is over, the hub's own absence. */
export type Remark = {
  key: string;
  /** Empty when it belongs to no system. */
  system: string;
  priority: Priority;
  line: string;
  kind: 'cleared' | 'hub';
  sinceMs: number;
  isWithheld: boolean;
  /** Whoever was called in addition is told of the end too. */
  isForEscalated: boolean;
};

/** All that the notices remember. Plain data: it is stored in the transaction of the events that changed it. */
export type NoticeState = {
  /** Time of the last step; null before the first. */
  nowMs: number | null;
  open: OpenNotice[];
  remarks: Remark[];
  /** The last occurrence of each alarm and which of its states have been taken in. */
  heard: Record<string, Readonly<{ occurrence: number; states: readonly AlarmEvent['state'][]; timeMs: number }>>;
  /** Lines of the last hour that count against the budget, oldest first. */
  said: { atMs: number; isHigh: boolean }[];
  withheldSinceMs: number | null;
  lastSummaryMs: number | null;
  lastEscalationMs: number | null;
};

/** More alarms than any room has; the one heard of longest ago is forgotten first. */
export const mostHeard = 20_000;
/** At the limit the oldest remark goes: what is over matters least. */
export const mostRemarks = 500;

export function emptyNoticeState(): NoticeState {
  return {
    nowMs: null,
    open: [],
    remarks: [],
    heard: {},
    said: [],
    withheldSinceMs: null,
    lastSummaryMs: null,
    lastEscalationMs: null,
  };
}

/**
 * A copy to be changed in place. What was heard of an alarm is replaced and never changed, so those entries are shared:
 * `structuredClone` took most of a step with some hundred alarms.
 */
export function copyOf(state: NoticeState): NoticeState {
  return {
    ...state,
    open: state.open.map((notice) => ({ ...notice })),
    remarks: state.remarks.map((remark) => ({ ...remark })),
    heard: { ...state.heard },
    said: state.said.map((each) => ({ ...each })),
  };
}

/** The stored document; a fresh state when there is none or it is not one: standing alarms are then told again. */
export function restoredNoticeState(body: string | undefined): NoticeState {
  if (body === undefined) return emptyNoticeState();
  try {
    const state = { ...emptyNoticeState(), ...(JSON.parse(body) as Partial<NoticeState>) };
    const isSound = [state.open, state.remarks, state.said].every(Array.isArray) && typeof state.heard === 'object';
    return isSound ? state : emptyNoticeState();
  } catch {
    return emptyNoticeState();
  }
}

/** The clock was put right. */
export function moveNotices(state: NoticeState, { noted }: ClockMove): void {
  state.nowMs = noted(state.nowMs);
  for (const notice of state.open) {
    notice.sinceMs = noted(notice.sinceMs);
    notice.toldMs = noted(notice.toldMs);
    notice.lastSaidMs = noted(notice.lastSaidMs);
    if (notice.owedFromMs !== undefined) notice.owedFromMs = noted(notice.owedFromMs);
  }
  for (const remark of state.remarks) remark.sinceMs = noted(remark.sinceMs);
  for (const [alarm, heard] of Object.entries(state.heard))
    state.heard[alarm] = { ...heard, timeMs: noted(heard.timeMs) };
  for (const each of state.said) each.atMs = noted(each.atMs);
  state.withheldSinceMs = noted(state.withheldSinceMs);
  state.lastSummaryMs = noted(state.lastSummaryMs);
  state.lastEscalationMs = noted(state.lastEscalationMs);
}

/** A clock that stepped back takes the state's times with it, else what is due would wait for as long as the step was. */
export function followClock(state: NoticeState, nowMs: number): void {
  if (state.nowMs !== null && nowMs < state.nowMs) moveNotices(state, moveOfStep(nowMs - state.nowMs));
  state.nowMs = nowMs;
}

/** Nobody needs to hear of it now. */
export function isHidden(notice: OpenNotice): boolean {
  return notice.isShelved || notice.isSuppressed || notice.isBack === true;
}

/** Most urgent first. */
export const rank: Record<Priority, number> = { high: 0, medium: 1, low: 2 };

/** Urgent first, then in order of time. */
export function byUrgency(
  a: { priority: Priority; sinceMs: number },
  b: { priority: Priority; sinceMs: number },
): number {
  return rank[a.priority] - rank[b.priority] || a.sinceMs - b.sinceMs;
}
