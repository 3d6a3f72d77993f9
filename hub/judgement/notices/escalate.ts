import { byUrgency } from './notice-state.ts';
import { escalatedLine } from './phone-line.ts';
import { isUnanswered } from './repeat.ts';
import type { Stage } from './stage.ts';

/** Alarms that come one after the other are joined, so that the second phone is not flooded in place of the first. */
const leastPauseMs = 5 * 60_000;

/** Fifth stage: a high alarm that nobody acknowledges goes to the second topic too, once for each time it is raised. */
export const escalateUnanswered: Stage = (settings, state, step) => {
  const { nowMs } = step;
  const waiting = state.open.filter(
    (notice) => notice.priority === 'high' && !notice.isEscalated && isUnanswered(notice),
  );
  if (!step.canReach || waiting.length === 0) return Number.POSITIVE_INFINITY;
  const dueMs = (notice: { toldMs: number | null }) => (notice.toldMs ?? nowMs) + settings.escalateAfterMs;
  const freeMs = state.lastEscalationMs === null ? nowMs : state.lastEscalationMs + leastPauseMs;
  const due = waiting.filter((notice) => dueMs(notice) <= nowMs).sort(byUrgency);
  const [first] = due;
  if (first === undefined || freeMs > nowMs) return Math.max(freeMs, Math.min(...waiting.map(dueMs)));
  const line = escalatedLine(due, nowMs - (first.toldMs ?? nowMs));
  step.say({ key: `escalated#${first.key}#${nowMs}`, to: 'escalated', line });
  for (const notice of due) notice.isEscalated = true;
  state.lastEscalationMs = nowMs;
  const later = waiting.filter(({ isEscalated }) => !isEscalated).map(dueMs);
  return Math.max(nowMs + leastPauseMs, Math.min(...later));
};
