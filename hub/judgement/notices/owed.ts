import { localTime } from '../../model/calendar/local-time.ts';
import { fitsBudget, freeAtMs, spend } from './budget.ts';
import type { NoticeSettings } from './notice-settings.ts';
import { byUrgency, type NoticeState, type OpenNotice } from './notice-state.ts';
import { manyLine, openingLine } from './phone-line.ts';
import { quietEndsMs } from './quiet-hours.ts';
import { isUnanswered } from './repeat.ts';
import type { NoticeStep, Stage } from './stage.ts';

/** As in the summary: a high alarm does not wait for an hour because others came before it. */
const leastPauseHighMs = 10 * 60_000;
/** Phones come back within seconds of the broker, and together: what they missed is said once, to all of them. */
const gatherMs = 10_000;

/**
 * What was said to nobody: the broker lost it, or whoever listens was away without a session. It is owed to them until it is said
 * again, or acknowledged.
 *
 * @param sinceMs  of what was said before, nothing was lost
 */
export function owing(state: NoticeState, sinceMs: number, nowMs: number): NoticeState {
  const isLost = (notice: OpenNotice) => isUnanswered(notice) && (notice.lastSaidMs ?? 0) >= sinceMs;
  if (!state.open.some(isLost)) return state;
  // Whoever was called in addition may not have heard it either.
  const owed = (notice: OpenNotice): OpenNotice => ({
    ...notice,
    owedFromMs: notice.owedFromMs ?? nowMs + gatherMs,
    isEscalated: false,
  });
  return { ...state, open: state.open.map((notice) => (isLost(notice) ? owed(notice) : notice)) };
}

/**
 * What is owed is said with the key of its first line, and since when it stands: one line each as far as the hour's budget goes, the
 * rest in its last one.
 */
export const sayOwed: Stage = (settings, state, step) => {
  const { nowMs } = step;
  const isOwed = ({ owedFromMs }: OpenNotice) => owedFromMs !== undefined && owedFromMs !== null;
  const owed = state.open.filter((notice) => isOwed(notice) && isUnanswered(notice)).sort(byUrgency);
  if (!step.canReach || owed.length === 0) return Number.POSITIVE_INFINITY;
  const due = owed.filter(
    ({ priority, owedFromMs }) => (owedFromMs ?? 0) <= nowMs && quietEndsMs(settings, priority, nowMs) <= nowMs,
  );
  while (due.length > 0 && fitsBudget(settings, state, due[0]!.priority, nowMs)) {
    spend(state, due[0]!.priority, nowMs);
    const isLastLine = due.length > 1 && !fitsBudget(settings, state, due[0]!.priority, nowMs);
    sayAgain(settings, due.splice(0, isLastLine ? due.length : 1), step);
  }
  if (due[0]?.priority === 'high' && nowMs - (state.lastSummaryMs ?? 0) >= leastPauseHighMs) {
    state.lastSummaryMs = nowMs;
    sayAgain(settings, due.splice(0), step);
  }
  return Math.min(...owed.filter(isOwed).map((notice) => readyMs(settings, state, notice, nowMs)));
};

function readyMs(settings: NoticeSettings, state: NoticeState, notice: OpenNotice, nowMs: number): number {
  const { priority, owedFromMs } = notice;
  const freeMs = freeAtMs(settings, state, priority, nowMs);
  const budgetMs = priority === 'high' ? Math.min(freeMs, (state.lastSummaryMs ?? 0) + leastPauseHighMs) : freeMs;
  return Math.max(owedFromMs ?? 0, quietEndsMs(settings, priority, nowMs), budgetMs);
}

function sayAgain(settings: NoticeSettings, notices: readonly OpenNotice[], { nowMs, say }: NoticeStep): void {
  const [first] = notices;
  if (first === undefined) return;
  const line =
    notices.length === 1
      ? openingLine(first.priority, first.text, localTime(first.sinceMs, nowMs, settings.timezone))
      : manyLine(first.priority, 'still', notices, 0);
  say({ key: notices.length === 1 ? first.key : `again#${first.key}#${nowMs}`, to: 'phone', line });
  for (const notice of notices) Object.assign(notice, { owedFromMs: null, lastSaidMs: nowMs });
}
