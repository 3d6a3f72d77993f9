import type { Priority } from '#rules/bands/watched-room.ts';
import type { Config } from '../../model/config/schema.ts';

/** Minutes after local midnight, 0 to 1439: quiet from the first until just before the second; the same twice is never. */
export type QuietWindow = { fromMinute: number; toMinute: number };

/** How notices behave; durations in milliseconds. */
export type NoticeSettings = {
  /** IANA zone in which the quiet hours are counted. */
  timezone: string;
  /** There are none for a high alarm: it asks somebody to act now. */
  quiet: Record<Exclude<Priority, 'high'>, QuietWindow>;
  mostPerHour: number;
  groupMs: Record<Priority, number>;
  /** First pause before a repeat; it doubles from there. */
  repeatMs: Record<Priority, number>;
  escalateAfterMs: number;
};

export function noticeSettings(config: Config): NoticeSettings {
  const { notices } = config;
  return {
    timezone: config.site.timezone,
    quiet: { medium: windowOf(notices.quiet_hours.medium), low: windowOf(notices.quiet_hours.low) },
    mostPerHour: notices.most_per_hour,
    groupMs: perPriority((priority) => notices.group_seconds[priority] * 1000),
    repeatMs: perPriority((priority) => notices.repeat_minutes[priority] * 60_000),
    escalateAfterMs: notices.escalate_after_minutes * 60_000,
  };
}

function perPriority(durationMs: (priority: Priority) => number): Record<Priority, number> {
  return { high: durationMs('high'), medium: durationMs('medium'), low: durationMs('low') };
}

function windowOf(hours: { from: string; to: string }): QuietWindow {
  return { fromMinute: minuteOf(hours.from), toMinute: minuteOf(hours.to) };
}

/** `HH:MM`, as the schema has checked it. */
function minuteOf(clock: string): number {
  return Number(clock.slice(0, 2)) * 60 + Number(clock.slice(3));
}
