import type { StandingAlarm } from '#rules/bands/room.ts';
import { byUrgency } from './notice-state.ts';
import { phoneLine } from './phone-line.ts';

/**
 * The answer to "acknowledge all", one line: what is acknowledged now, so that whoever pressed the button knows that it
 * went through, and what no longer rings. It begins in other words than a notice.
 *
 * @param taken  the alarms that were open and no longer are
 * @param stillOpen  how many are open all the same
 * @param textOf  system and message of an alarm
 */
export function acknowledgedLine(
  taken: readonly StandingAlarm[],
  stillOpen: number,
  textOf: (alarm: StandingAlarm) => string,
): string {
  const [first] = taken.toSorted(byUrgency);
  const left = stillOpen === 0 ? '' : `${stillOpen} could not be acknowledged. `;
  if (first === undefined) return phoneLine(`${left}Nothing to acknowledge.`);
  if (taken.length === 1) return phoneLine(`${left}Acknowledged: ${textOf(first)}`);
  return phoneLine(`${left}${taken.length} alarms acknowledged. Most urgent: ${textOf(first)}`);
}
