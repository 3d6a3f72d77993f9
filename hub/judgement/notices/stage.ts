import type { NoticeSettings } from './notice-settings.ts';
import type { NoticeState } from './notice-state.ts';

/** One line for a phone. The key names what it says for good: whoever receives it twice can drop the second. */
export type NoticeMessage = { key: string; to: 'phone' | 'escalated'; line: string };

/**
 * A stage of the notices. It changes the state that it is given, says what it has to say, and gives the next time at which it
 * may have to act, UTC milliseconds; infinity when only an event can move it.
 */
export type Stage = (settings: NoticeSettings, state: NoticeState, step: NoticeStep) => number;

export type NoticeStep = {
  nowMs: number;
  /** The broker is there. Repeats for a phone that cannot be reached would only pile up. */
  canReach: boolean;
  say(message: NoticeMessage): void;
};
