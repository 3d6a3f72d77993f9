import type { Notice } from '#adapters/ports/notifier.ts';
import type { Store } from '#adapters/ports/store.ts';
import type { AlarmEvent } from '#rules/bands/alarm-event.ts';
import type { StandingAlarm } from '#rules/bands/room.ts';
import { readJournal } from '../../model/journal/journal.ts';
import { stateNotice } from './notice-items.ts';

/** Events of a system that are looked through for the last one of each alarm. */
const mostLookedThrough = 500;

/**
 * How each standing alarm stands, for a broker that has lost what it held: the last event of each, with its key, marked as a repeat.
 *
 * Is not: of an alarm with more than 500 later events of others in its system; it is said with its next event.
 */
export function statesAgain(
  store: Pick<Store, 'journal'>,
  standing: readonly StandingAlarm[],
  nameOf: (system: string) => string,
): Notice[] {
  const wanted = new Set(standing.map(({ id }) => id));
  const systems = new Set(standing.map(({ system }) => system));
  return [...systems].flatMap((system) =>
    readJournal(store, { kind: 'alarm', system, order: 'newest', limit: mostLookedThrough })
      // What stands is of a kind and a metric of today.
      .map(({ body }) => body as AlarmEvent)
      .filter(({ alarm }) => wanted.delete(alarm))
      .map((event) => stateNotice(event, nameOf(system), true)),
  );
}
