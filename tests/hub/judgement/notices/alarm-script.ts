import { type NoticeOutput, stepNotices } from '#hub/judgement/notices/notice-pipeline.ts';
import type { NoticeSettings } from '#hub/judgement/notices/notice-settings.ts';
import { emptyNoticeState, type NoticeState } from '#hub/judgement/notices/notice-state.ts';
import type { NoticeMessage } from '#hub/judgement/notices/stage.ts';
import type { AlarmEvent } from '#rules/bands/alarm-event.ts';
import type { Priority } from '#rules/bands/watched-room.ts';

export const minuteMs = 60_000;

/** As the defaults of the configuration, in UTC. */
export const usualSettings: NoticeSettings = {
  timezone: 'UTC',
  quiet: { medium: { fromMinute: 22 * 60, toMinute: 7 * 60 }, low: { fromMinute: 22 * 60, toMinute: 7 * 60 } },
  mostPerHour: 12,
  groupMs: { high: 0, medium: 10_000, low: 60_000 },
  repeatMs: { high: 15 * minuteMs, medium: 240 * minuteMs, low: 1440 * minuteMs },
  escalateAfterMs: 20 * minuteMs,
};

export type Said = NoticeMessage & { atMs: number };

/** Plays the rules towards the notices: events with their occurrences as the life cycle counts them, and time that passes. */
export function alarmScript(startMs: number, settings: NoticeSettings = usualSettings) {
  let state: NoticeState = emptyNoticeState();
  let nowMs = startMs;
  let nextMs = Number.POSITIVE_INFINITY;
  let canReach = true;
  const occurrences = new Map<string, number>();
  const said: Said[] = [];
  const events: AlarmEvent[] = [];

  function take(output: NoticeOutput): void {
    state = output.state;
    nextMs = output.nextMs;
    for (const message of output.messages) said.push({ ...message, atMs: nowMs });
  }
  const look = () => take(stepNotices(settings, state, { news: [], nowMs, canReach }));

  function give(given: readonly AlarmEvent[]): void {
    const news = given.map((event) => ({ event, text: `${event.system}: ${event.message}` }));
    take(stepNotices(settings, state, { news, nowMs, canReach }));
  }

  function make(state: AlarmEvent['state'], alarm: string, priority: Priority): AlarmEvent {
    const isRaise = state === 'raised' || state === 'reraised';
    const occurrence = (occurrences.get(alarm) ?? 0) + (isRaise ? 1 : 0);
    occurrences.set(alarm, occurrence);
    const event: AlarmEvent = {
      ...{ timeMs: nowMs, alarm, occurrence, state, priority },
      ...{ system: alarm.split('/')[0] ?? '', metric: 'temperature', rule: 'out_of_band' },
      message: `${alarm} ${state}`,
    };
    events.push(event);
    return event;
  }

  return {
    said,
    events,
    state: () => state,
    nowMs: () => nowMs,
    /** What was said since the last call, in short: `+0 phone ACT NOW · …`, minutes since the start. */
    lines(): string[] {
      return said.splice(0).map(({ atMs, to, line }) => `+${Math.round((atMs - startMs) / 6000) / 10} ${to}: ${line}`);
    },
    /** Several at the same instant. */
    tell(state: AlarmEvent['state'], alarms: readonly string[], priority: Priority = 'high'): AlarmEvent[] {
      const fresh = alarms.map((alarm) => make(state, alarm, priority));
      give(fresh);
      return fresh;
    },
    /** As the rules end a shelving: both in one step. */
    unshelve(alarm: string): void {
      give([make('unshelved', alarm, 'high'), make('reraised', alarm, 'high')]);
    },
    give,
    /** Time passes as in the hub: a timer that is armed for what is due next. */
    pass(durationMs: number): void {
      const endMs = nowMs + durationMs;
      for (let steps = 0; nextMs <= endMs; steps += 1) {
        if (steps > 10_000) throw new Error('the notices ask to be looked at again and again');
        nowMs = Math.max(nowMs, nextMs);
        look();
      }
      nowMs = endMs;
    },
    reach(isThere: boolean): void {
      canReach = isThere;
      look();
    },
    /** The wall clock is set; the hub notices at its next tick. */
    stepClock(byMs: number): void {
      nowMs += byMs;
      look();
    },
    /** As a restart restores it. */
    restart(): void {
      state = JSON.parse(JSON.stringify(state)) as NoticeState;
      look();
    },
  };
}
