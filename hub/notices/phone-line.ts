import type { AlarmEvent } from '#rules/bands/alarm-event.ts';
import type { Priority } from '#rules/bands/watched-room.ts';

/** A locked phone shows about this much of a message. */
export const phoneLineMostCharacters = 180;

const opening: Record<Priority, string> = { high: 'ACT NOW', medium: 'Act today', low: 'Have a look' };

/**
 * The one line a phone shows for an event, or undefined for an event that nobody has to be told of. The system comes
 * first, because a farm has forty of them, and the end is cut before the beginning when it is too long.
 */
export function phoneLine(event: AlarmEvent, systemName: string): string | undefined {
  switch (event.state) {
    case 'raised':
    case 'reraised':
      return cut(`${opening[event.priority]} · ${systemName}: ${event.message}`);
    case 'cleared':
      return cut(`Back to normal · ${systemName}: ${event.message}`);
    default:
      return undefined;
  }
}

function cut(line: string): string {
  const plain = line.replace(/\s+/g, ' ').trim();
  const characters = [...plain];
  if (characters.length <= phoneLineMostCharacters) return plain;
  return `${characters.slice(0, phoneLineMostCharacters - 1).join('')}…`;
}
