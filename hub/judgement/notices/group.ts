import type { NoticeSettings } from './notice-settings.ts';
import type { OpenNotice } from './notice-state.ts';

/**
 * When the first notice of an alarm may go, UTC milliseconds: after the group time of its priority. What belongs together
 * arrives together, and what ended meanwhile is never sent.
 */
export function groupEndsMs(settings: NoticeSettings, notice: OpenNotice): number {
  return notice.sinceMs + settings.groupMs[notice.priority];
}
