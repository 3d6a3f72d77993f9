import type { AlarmEvent } from '#rules/bands/alarm-event.ts';
import { mostHeard, type NoticeState } from './notice-state.ts';

/**
 * True for an event that has been taken in before, by its alarm, occurrence and state; notes it when not. A crash may repeat
 * what was stored. An old number with a later time is no repeat: the rules lost their memory and count again, and an alarm
 * that is then taken for a repeat would never ring.
 */
export function isRepeated(state: NoticeState, event: AlarmEvent): boolean {
  const { alarm, occurrence, timeMs } = event;
  const heard = state.heard[alarm];
  if (heard !== undefined && timeMs <= heard.timeMs) {
    if (occurrence < heard.occurrence) return true;
    if (occurrence === heard.occurrence && heard.states.includes(event.state)) return true;
  }
  const isSameCount = heard?.occurrence === occurrence && !heard.states.includes(event.state);
  // Taken out first: the object keeps its keys in the order in which they were last heard of.
  delete state.heard[alarm];
  state.heard[alarm] = {
    occurrence,
    states: isSameCount ? [...heard.states, event.state] : [event.state],
    timeMs: isSameCount ? Math.max(heard.timeMs, timeMs) : timeMs,
  };
  const alarms = Object.keys(state.heard);
  if (alarms.length > mostHeard) delete state.heard[alarms[0] ?? ''];
  return false;
}
