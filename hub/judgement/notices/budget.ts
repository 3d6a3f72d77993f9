import type { Priority } from '#rules/bands/watched-room.ts';
import { hourMs } from '#rules/clock/durations.ts';
import type { NoticeSettings } from './notice-settings.ts';
import type { NoticeState } from './notice-state.ts';

/**
 * Whether one more line of this priority fits into the hour. Half of the budget is kept for high alarms, so that a flood of
 * lesser ones does not spend what a heater that sticks afterwards needs.
 */
export function fitsBudget(settings: NoticeSettings, state: NoticeState, priority: Priority, nowMs: number): boolean {
  return freeAtMs(settings, state, priority, nowMs) <= nowMs;
}

/** When a line of this priority fits, UTC milliseconds. */
export function freeAtMs(settings: NoticeSettings, state: NoticeState, priority: Priority, nowMs: number): number {
  state.said = state.said.filter(({ atMs }) => nowMs - atMs < hourMs);
  const whole = roomAtMs(state.said, settings.mostPerHour, nowMs);
  if (priority === 'high') return whole;
  const lesser = state.said.filter(({ isHigh }) => !isHigh);
  return Math.max(whole, roomAtMs(lesser, settings.mostPerHour - Math.floor(settings.mostPerHour / 2), nowMs));
}

export function spend(state: NoticeState, priority: Priority, nowMs: number): void {
  state.said.push({ atMs: nowMs, isHigh: priority === 'high' });
}

/** @param said  lines of the last hour, oldest first */
function roomAtMs(said: readonly { atMs: number }[], most: number, nowMs: number): number {
  const blocking = said[said.length - most];
  return blocking === undefined ? nowMs : blocking.atMs + hourMs;
}
