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

/** No event tells that what comes and goes has come once more. */
const lookAgainMs = 60_000;
const none: ReadonlySet<string> = new Set();

export type NoticeInput = {
  news: readonly AlarmNews[];
  nowMs: number;
  /** The broker is there. */
  canReach: boolean;
  /** Alarms that stand because they are expected again, while the value is back: nobody is called for good water. */
  back?: ReadonlySet<string>;
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
  const { nowMs, canReach, back = none } = input;
  followClock(next, nowMs);
  followAlarms(next, input.news, nowMs);
  const step = { nowMs, canReach, say: (message: NoticeMessage) => void messages.push(message) };
  for (const notice of next.open) {
    if (back.has(notice.alarm)) notice.isBack = true;
    else delete notice.isBack;
  }
  const nextMs = Math.min(...stages.map((stage) => stage(settings, next, step)));
  const mayComeBack = next.open.some(({ isBack }) => isBack === true);
  return { state: next, messages, nextMs: mayComeBack ? Math.min(nextMs, nowMs + lookAgainMs) : nextMs };
}
