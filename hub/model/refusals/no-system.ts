import { Refused } from './refused.ts';

/** What to throw for a system that is not there: says which there are. */
export function noSystem(id: string, systems: readonly { id: string }[]): Refused {
  return new Refused('unknown_system', noSystemText(id, systems));
}

export function noSystemText(id: string, systems: readonly { id: string }[]): string {
  return `No system "${id}". You have: ${systems.map((each) => each.id).join(', ')}`;
}
