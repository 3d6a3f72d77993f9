import { IANAZone } from 'luxon';
import type { Priority } from '#rules/bands/watched-room.ts';
import { minuteMs } from '#rules/clock/durations.ts';
import type { NoticeSettings, QuietWindow } from './notice-settings.ts';

/** Of a day. Exact. */
const dayMinutes = 1440;

/**
 * When a line of this priority may be said, UTC milliseconds: now, or at the end of the quiet hours that now lies in. Quiet is
 * what the clock on the wall says, so a change of daylight saving within the night makes it an hour shorter or longer.
 */
export function quietEndsMs(settings: NoticeSettings, priority: Priority, nowMs: number): number {
  if (priority === 'high') return nowMs;
  const zone = IANAZone.create(settings.timezone);
  const window = settings.quiet[priority];
  return isQuiet(window, wallMinute(zone, nowMs)) ? endMs(zone, window, nowMs) : nowMs;
}

/** Offsets by zone and minute: each is asked of the zone's table through a formatter, for every open alarm at every step. */
const knownOffsets = new Map<string, number>();
const mostKnown = 10_000;

/** With an unknown zone UTC is used: a notice at a wrong hour is better than none. */
function offsetMinutes(zone: IANAZone, timeMs: number): number {
  if (!zone.isValid) return 0;
  const minute = Math.floor(timeMs / minuteMs);
  const key = `${zone.name} ${minute}`;
  let offset = knownOffsets.get(key);
  if (offset === undefined) {
    offset = zone.offset(minute * minuteMs);
    if (knownOffsets.size >= mostKnown) knownOffsets.clear();
    knownOffsets.set(key, offset);
  }
  return offset;
}

function wallMinute(zone: IANAZone, timeMs: number): number {
  const minute = Math.floor(timeMs / minuteMs + offsetMinutes(zone, timeMs)) % dayMinutes;
  return minute < 0 ? minute + dayMinutes : minute;
}

function isQuiet({ fromMinute, toMinute }: QuietWindow, minute: number): boolean {
  if (fromMinute <= toMinute) return minute >= fromMinute && minute < toMinute;
  return minute >= fromMinute || minute < toMinute;
}

/** The first instant after a quiet one that is not quiet. */
function endMs(zone: IANAZone, window: QuietWindow, nowMs: number): number {
  const plainEndMs = nextAt(zone, window, nowMs);
  if (offsetMinutes(zone, plainEndMs) === offsetMinutes(zone, nowMs)) return plainEndMs;
  const changeMs = changeBetween(zone, nowMs, plainEndMs);
  return isQuiet(window, wallMinute(zone, changeMs)) ? nextAt(zone, window, changeMs) : changeMs;
}

/** When the wall clock shows the window's end, if it runs on without a change. */
function nextAt(zone: IANAZone, { toMinute }: QuietWindow, fromMs: number): number {
  const ahead = (toMinute - wallMinute(zone, fromMs) + dayMinutes) % dayMinutes;
  return Math.floor(fromMs / minuteMs) * minuteMs + ahead * minuteMs;
}

/** The minute at which the offset changes; it differs between the two times. */
function changeBetween(zone: IANAZone, fromMs: number, toMs: number): number {
  const before = offsetMinutes(zone, fromMs);
  let low = Math.floor(fromMs / minuteMs);
  let high = Math.ceil(toMs / minuteMs);
  while (high - low > 1) {
    const middle = Math.floor((low + high) / 2);
    if (offsetMinutes(zone, middle * minuteMs) === before) low = middle;
    else high = middle;
  }
  return high * minuteMs;
}
