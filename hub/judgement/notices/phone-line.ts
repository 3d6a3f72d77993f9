import type { Priority } from '#rules/bands/watched-room.ts';
import { durationText } from '#rules/words/value-text.ts';

/** A locked phone shows about this much of a message. */
export const phoneLineMostCharacters = 180;

const opening: Record<Priority, string> = { high: 'ACT NOW', medium: 'Act today', low: 'Have a look' };

type AlarmOnPhone = { system: string; text: string };

/**
 * What an alarm is about. The system comes first, because a farm has forty of them, and the end is cut before the beginning
 * when it is too long.
 */
export function alarmText(systemName: string, message: string): string {
  return `${systemName}: ${message}`;
}

/** The one line a phone shows for an alarm. @param since  local time, for one that has been told before */
export function openingLine(priority: Priority, text: string, since?: string): string {
  return phoneLine(`${opening[priority]}${since === undefined ? '' : `, since ${since}`} · ${text}`);
}

export function clearedLine(text: string): string {
  return phoneLine(`Back to normal · ${text}`);
}

/**
 * Several alarms in one line, the most urgent first.
 *
 * @param how  `more`: beyond those that had a line of their own; `still`: told before and acknowledged by nobody
 */
export function manyLine(
  priority: Priority,
  how: 'more' | 'still',
  alarms: readonly AlarmOnPhone[],
  alsoCleared: number,
): string {
  const [first] = alarms;
  const count =
    how === 'more'
      ? `${countText(alarms.length, 'more alarm')} in ${systemsText(alarms)}`
      : `${countText(alarms.length, 'alarm')} in ${systemsText(alarms)} not acknowledged`;
  const cleared = alsoCleared === 0 ? '' : `, ${alsoCleared} back to normal`;
  return phoneLine(`${opening[priority]} · ${count}${cleared}. Most urgent: ${first?.text ?? ''}`);
}

/** For the person who is called because the first did not answer. */
export function escalatedLine(alarms: readonly AlarmOnPhone[], unansweredMs: number): string {
  const [first] = alarms;
  const many =
    alarms.length === 1 ? '' : `${countText(alarms.length, 'alarm')} in ${systemsText(alarms)}. Most urgent: `;
  return phoneLine(`${opening.high}, not acknowledged for ${durationText(unansweredMs)} · ${many}${first?.text ?? ''}`);
}

/** One line, cut to what a locked phone shows. */
export function phoneLine(text: string): string {
  const plain = text.replace(/\s+/g, ' ').trim();
  const characters = [...plain];
  if (characters.length <= phoneLineMostCharacters) return plain;
  return `${characters.slice(0, phoneLineMostCharacters - 1).join('')}…`;
}

function systemsText(alarms: readonly AlarmOnPhone[]): string {
  return countText(new Set(alarms.map(({ system }) => system)).size, 'system');
}

function countText(count: number, noun: string): string {
  return `${count} ${noun}${count === 1 ? '' : 's'}`;
}
