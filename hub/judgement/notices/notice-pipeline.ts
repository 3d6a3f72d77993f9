import { escalateUnanswered } from './escalate.ts';
import { sayFirstNotices } from './first-notices.ts';
import { type AlarmNews, followAlarms } from './follow-alarms.ts';
import type { NoticeSettings } from './notice-settings.ts';
import { copyOf, followClock, type NoticeState } from './notice-state.ts';
import { sayOwed } from './owed.ts';
import { repeatUnanswered } from './repeat.ts';
import type { NoticeMessage, Stage } from './stage.ts';
import { saySummary } from './summary.ts';

/** After the events are followed (group, dedup), in this order; what is cleared first needs no later stage. */
const stages: readonly Stage[] = [sayFirstNotices, saySummary, sayOwed, repeatUnanswered, escalateUnanswered];

export type NoticeInput = {
  news: readonly AlarmNews[];
  nowMs: number;
  /** The broker is there. */
  canReach: boolean;
};

export type NoticeOutput = {
  state: NoticeState;
  messages: NoticeMessage[];
  /** When to come again, UTC milliseconds, if no event comes before; infinity when nothing waits for time. */
  nextMs: number;
};

/**
 * From alarm events to the lines on a phone: group, dedup, quiet hours, budget with its summary, repeats, escalation.
 *
 * Is: every alarm that stands unacknowledged is said once, or in a summary, as soon as its group time, quiet hours and the
 * hour's budget allow; a high one within ten minutes even when the budget is spent. No event is said twice.
 * Is not: a promise that the phone received it; the broker is behind the outbox, the phone behind the broker.
 *
 * @param state  unchanged; the next one is given back
 */
export function stepNotices(settings: NoticeSettings, state: NoticeState, input: NoticeInput): NoticeOutput {
  const next = copyOf(state);
  const messages: NoticeMessage[] = [];
  const { nowMs, canReach } = input;
  followClock(next, nowMs);
  followAlarms(next, input.news, nowMs);
  const step = { nowMs, canReach, say: (message: NoticeMessage) => void messages.push(message) };
  const nextMs = Math.min(...stages.map((stage) => stage(settings, next, step)));
  return { state: next, messages, nextMs };
}
