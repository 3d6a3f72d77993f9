import type { StandingAlarm } from '#rules/bands/room.ts';
import type { NoticeState, OpenNotice } from './notice-state.ts';

/**
 * Brings the notices in line with the alarms that stand, for the case that one of the two lost its memory or that the
 * configuration took an alarm away: else a phone would be reminded for ever of what nobody can acknowledge, or never be told.
 * What is gone is dropped at the second look: at the first its end may not have been told yet.
 *
 * @param textOf  system and message of an alarm
 * @returns the state, the same one when nothing had to be changed
 */
export function reconciled(
  state: NoticeState,
  standing: readonly StandingAlarm[],
  textOf: (alarm: StandingAlarm) => string,
  nowMs: number,
): NoticeState {
  const byId = new Map(standing.filter(({ isStanding }) => isStanding).map((alarm) => [alarm.id, alarm]));
  const known = new Set(state.open.map(({ alarm }) => alarm));
  const missing = [...byId.values()].filter((alarm) => alarm.state === 'unacknowledged' && !known.has(alarm.id));
  let isSame = missing.length === 0;
  const kept = state.open.flatMap((notice): OpenNotice[] => {
    const alarm = byId.get(notice.alarm);
    const isAbsent = alarm === undefined;
    const isAcknowledged = notice.isAcknowledged || alarm?.state === 'acknowledged';
    // What is said again says the value of now.
    const text = alarm === undefined ? notice.text : textOf(alarm);
    const isNoted = isAbsent === notice.isAbsent && isAcknowledged === notice.isAcknowledged && !isAbsent;
    if (isNoted && text === notice.text) return [notice];
    isSame = false;
    return isAbsent && notice.isAbsent ? [] : [{ ...notice, isAbsent, isAcknowledged, text }];
  });
  if (isSame) return state;
  return { ...state, open: [...kept, ...missing.map((alarm) => found(alarm, textOf(alarm), nowMs))] };
}

function found(alarm: StandingAlarm, text: string, nowMs: number): OpenNotice {
  const { id, occurrence, system, priority } = alarm;
  return {
    alarm: id,
    occurrence,
    system,
    priority,
    text,
    key: `${id}#${occurrence}#found#${nowMs}`,
    sinceMs: nowMs,
    isAcknowledged: false,
    isShelved: false,
    isSuppressed: false,
    isWithheld: false,
    isAbsent: false,
    toldMs: null,
    toldBy: null,
    lastSaidMs: null,
    repeats: 0,
    isEscalated: false,
  };
}
