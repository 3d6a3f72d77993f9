import type { Priority } from '#rules/bands/watched-room.ts';
import { dayMs } from '#rules/clock/durations.ts';
import { localTime } from '../../model/calendar/local-time.ts';
import { freeAtMs, spend } from './budget.ts';
import type { NoticeSettings } from './notice-settings.ts';
import { byUrgency, isHidden, type NoticeState, type OpenNotice } from './notice-state.ts';
import { manyLine, openingLine } from './phone-line.ts';
import { quietEndsMs } from './quiet-hours.ts';
import type { Stage } from './stage.ts';

/** The pause doubles up to so many times the first, and never beyond a day: one who is asleep is reached, no one is nagged. */
const mostDoubled = 16;
const longestPauseMs = dayMs;

function pauseMs(settings: NoticeSettings, notice: OpenNotice): number {
  const first = settings.repeatMs[notice.priority];
  return Math.max(first, Math.min(first * Math.min(2 ** notice.repeats, mostDoubled), longestPauseMs));
}

/** Told, and no person has shown that they know. */
export function isUnanswered(notice: OpenNotice): boolean {
  return notice.toldMs !== null && !notice.isAcknowledged && !isHidden(notice);
}

/**
 * Fourth stage: what nobody acknowledges is said again, with growing pauses. All that is nearly due joins the one that is, so
 * that a bad night gives one line each time and not one for each alarm.
 */
export const repeatUnanswered: Stage = (settings, state, step) => {
  const { nowMs } = step;
  const waiting = state.open.filter(isUnanswered);
  if (!step.canReach || waiting.length === 0) return Number.POSITIVE_INFINITY;
  const dueMs = (notice: OpenNotice) => (notice.lastSaidMs ?? nowMs) + pauseMs(settings, notice);
  const readyNow = () => {
    // The same for all of a priority, and it goes through all lines of the hour.
    const freeMs = new Map<Priority, number>();
    return (notice: OpenNotice): number => {
      const { priority } = notice;
      const at = Math.max(dueMs(notice), nowMs);
      const free = freeMs.get(priority) ?? freeAtMs(settings, state, priority, nowMs);
      freeMs.set(priority, free);
      return Math.max(at, quietEndsMs(settings, priority, at), free);
    };
  };
  const readyMs = readyNow();
  const due = waiting.filter((notice) => readyMs(notice) <= nowMs);
  if (due.length > 0) {
    const isNearlyDue = (notice: OpenNotice) =>
      due.includes(notice) ||
      (dueMs(notice) - nowMs <= pauseMs(settings, notice) / 4 &&
        quietEndsMs(settings, notice.priority, nowMs) <= nowMs);
    sayAgain(settings, state, waiting.filter(isNearlyDue).sort(byUrgency), step);
  }
  return Math.min(...waiting.map(readyNow()));
};

function sayAgain(
  settings: NoticeSettings,
  state: NoticeState,
  notices: readonly OpenNotice[],
  step: Parameters<Stage>[2],
): void {
  const [first] = notices;
  if (first === undefined) return;
  const { nowMs } = step;
  spend(state, first.priority, nowMs);
  const line =
    notices.length === 1
      ? openingLine(first.priority, first.text, localTime(first.sinceMs, nowMs, settings.timezone))
      : manyLine(first.priority, 'still', notices, 0);
  step.say({ key: `again#${first.key}#${nowMs}`, to: 'phone', line });
  for (const notice of notices) {
    notice.repeats += 1;
    notice.lastSaidMs = nowMs;
  }
}
