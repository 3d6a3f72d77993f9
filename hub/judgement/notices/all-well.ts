import type { StandingAlarm } from '#rules/bands/room.ts';
import { type Metric, metricFacts } from '#rules/quantity/metric.ts';
import { isCounted } from '#rules/verdicts/counted-alarm.ts';
import { durationText } from '#rules/words/value-text.ts';
import { byUrgency } from './notice-state.ts';
import { phoneLine } from './phone-line.ts';

/** The last reading of a configured probe, and whether the rules hold it for silent; no time when it was never heard. */
export type LastHeard = { probe: string; system: string; timeMs: number | undefined; isSilent: boolean };

/** A newest reading that lies outside its band; its alarm waits for it to last. */
export type OutsideNow = { system: string; systemName: string; metric: Metric };

/**
 * The answer to "all well?", one line: what stands, or that nothing does, with the age of the oldest reading, so that a room
 * of dead probes does not pass for a calm one. Nor does one in which a reading has left its band and its alarm is still to come.
 *
 * @param alarms  as `alarmsOf` gives them
 * @param textOf  system and message of an alarm
 */
export function allWellLine(
  alarms: readonly StandingAlarm[],
  heard: readonly LastHeard[],
  outside: readonly OutsideNow[],
  textOf: (alarm: StandingAlarm) => string,
  nowMs: number,
): string {
  const active = alarms.filter(({ isStanding }) => isStanding);
  const standing = active.filter(isCounted).sort(byUrgency);
  const [first] = standing;
  if (first !== undefined) {
    // It begins in other words than a notice: an answer must not be taken for something that has just happened.
    if (standing.length === 1) return phoneLine(`1 active alarm: ${stateWords(first)}${textOf(first)}`);
    const open = standing.filter(({ state }) => state === 'unacknowledged').length;
    const text = `${standing.length} active alarms, ${open} unacknowledged. Most urgent: ${textOf(first)}`;
    return phoneLine(text);
  }
  const [left] = outside;
  if (left !== undefined) {
    const more = outside.length === 1 ? '' : ` ${outside.length - 1} more with it.`;
    return phoneLine(
      `No active alarm yet, but ${left.systemName}: ${metricFacts[left.metric].label} is outside its band just now.${more}`,
    );
  }
  if (active.length > 0) {
    const count = active.length === 1 ? '1 is' : `${active.length} are`;
    return phoneLine(`No active alarms, but ${count} silenced by maintenance or by another alarm.`);
  }
  const unheard = heard.filter(({ timeMs }) => timeMs === undefined);
  const oldest = heard
    .filter((each): each is LastHeard & { timeMs: number } => each.timeMs !== undefined)
    .sort((a, b) => Number(b.isSilent) - Number(a.isSilent) || a.timeMs - b.timeMs)[0];
  const notHeard = unheard.length === 0 ? '' : ` ${unheard.length} of ${heard.length} probes not heard yet.`;
  if (oldest === undefined) return phoneLine(`No active alarms, but no probe has been heard yet.`);
  const ageMs = Math.max(0, nowMs - oldest.timeMs);
  const age = `the oldest reading is ${durationText(ageMs)} old (${oldest.probe})`;
  if (oldest.isSilent) return phoneLine(`No active alarms, but ${age}.${notHeard}`);
  return phoneLine(`All is well: ${age}.${notHeard}`);
}

function stateWords(alarm: StandingAlarm): string {
  switch (alarm.state) {
    case 'acknowledged':
      return '(acknowledged) ';
    case 'shelved':
      return '(silenced) ';
    default:
      return '';
  }
}
