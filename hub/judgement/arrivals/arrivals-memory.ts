import type { OutboxItem, Store } from '#adapters/ports/store.ts';
import { type NewEntry, written } from '../../model/journal/journal.ts';
import { orNotStored } from '../../model/refusals/refused.ts';
import { type ArrivalsState, arrivalsFromText, emptyArrivals } from './arrivals-state.ts';

const documentName = 'arrivals-state';

export type With = { entries?: NewEntry<'arrival' | 'piece'>[]; outbox?: OutboxItem[] };

/** What is remembered of arrivals and their timers, in memory and on disk. */
export type ArrivalsMemory = {
  state(): ArrivalsState;
  /** Changes what is in memory; it is on disk with the next that is kept. */
  replace(next: ArrivalsState): void;
  /**
   * Replaces the state and stores it in one transaction with the entries and messages that it caused.
   *
   * @returns ids of the entries
   * @throws Refused not_stored  the state is then as it was
   */
  keep(next: ArrivalsState, also?: With): number[];
  /** The same for what time alone caused: when the disk refuses, the messages are given to `unstored` and go out from memory. */
  keepOrSay(next: ArrivalsState, also: With): void;
};

export type MemoryEnds = {
  /** Messages are on disk: they may go out. */
  stored(): void;
  unstored(items: readonly OutboxItem[], error: Error): void;
  /** The stored state could not be read; it is set aside under this name and an empty one begins. */
  damaged(setAside: string): void;
};

/**
 * Is: stored before anything is sent, so that a crash between the two may repeat a call and never loses a timer.
 * Is not: rid of the journal; what a lost state held must be read there.
 */
export function createArrivalsMemory(store: Pick<Store, 'commit' | 'document'>, ends: MemoryEnds): ArrivalsMemory {
  let state = restored(store, ends);

  function commit(next: ArrivalsState, { entries = [], outbox = [] }: With): number[] {
    const documents = [{ name: documentName, body: JSON.stringify(next) }];
    return store.commit({ entries: entries.map(written), outbox, documents });
  }

  return {
    state: () => state,
    replace(next) {
      state = next;
    },
    keep(next, also = {}) {
      const ids = orNotStored(() => commit(next, also));
      state = next;
      if ((also.outbox ?? []).length > 0) ends.stored();
      return ids;
    },
    keepOrSay(next, also) {
      // Also when the disk refuses: else the same call would ring every second.
      state = next;
      try {
        commit(next, also);
        if ((also.outbox ?? []).length > 0) ends.stored();
      } catch (error) {
        ends.unstored(also.outbox ?? [], error instanceof Error ? error : new Error(String(error)));
      }
    },
  };
}

function restored(store: Pick<Store, 'commit' | 'document'>, ends: MemoryEnds): ArrivalsState {
  const body = store.document(documentName);
  if (body === undefined) return emptyArrivals;
  const found = arrivalsFromText(body);
  if (found !== undefined) return found;
  const setAside = `${documentName}-unreadable`;
  store.commit({ documents: [{ name: setAside, body }] });
  ends.damaged(setAside);
  return emptyArrivals;
}
