import type { Commit, OutboxItem, Store } from '#adapters/ports/store.ts';
import type { AlarmEvent } from '#rules/bands/alarm-event.ts';
import type { Evidence } from '#rules/bands/evidence.ts';
import {
  alarmsOf,
  emptyRoomState,
  type RoomRules,
  type RoomState,
  type StandingAlarm,
  stepRoom,
} from '#rules/bands/room.ts';

const documentName = 'rules-state';

/** At most so many events wait for a store that refuses them; they have gone to the phone already. */
const mostHeldEvents = 1000;

export type WatchEnds = {
  /** The messages of an event, for the outbox. */
  itemsOf(event: AlarmEvent): OutboxItem[];
  /** After the events are on disk. */
  announced(events: readonly AlarmEvent[]): void;
  /** When the store refuses them: they go to the broker straight from memory. */
  unstored(items: readonly OutboxItem[], error: Error): void;
};

export type Watch = {
  offer(evidence: Evidence, nowMs: number): void;
  standing(nowMs: number): StandingAlarm[];
  /** Keeps what the rules remember, so that a restart neither forgets nor repeats an alarm. */
  keep(): void;
};

/**
 * The rules at work: evidence in, events stored with the state that caused them and the notices that follow, in one
 * transaction. Stored before it is announced: a crash between the two must repeat, not forget.
 */
export function createWatch(store: Pick<Store, 'commit' | 'document'>, rules: RoomRules, ends: WatchEnds): Watch {
  let state: RoomState = restored(store.document(documentName));
  let held: AlarmEvent[] = [];

  function commitOf(events: readonly AlarmEvent[]): Commit {
    return {
      entries: events.map((event) => ({
        kind: 'alarm',
        timeMs: event.timeMs,
        recordedMs: event.timeMs,
        system: event.system,
        body: { ...event },
        key: `alarm:${event.alarm}#${event.occurrence}#${event.state}#${event.timeMs}`,
      })),
      outbox: events.flatMap((event) => ends.itemsOf(event)),
      documents: [{ name: documentName, body: JSON.stringify(state) }],
    };
  }

  function settle(events: readonly AlarmEvent[]): void {
    const all = [...held, ...events];
    try {
      store.commit(commitOf(all));
      held = [];
      ends.announced(all);
    } catch (error) {
      held = all.slice(-mostHeldEvents);
      ends.unstored(
        events.flatMap((event) => ends.itemsOf(event)),
        error instanceof Error ? error : new Error(String(error)),
      );
    }
  }

  return {
    offer(evidence, nowMs) {
      const result = stepRoom(rules, state, evidence, nowMs);
      state = result.state;
      if (result.events.length > 0) settle(result.events);
    },
    standing: (nowMs) => alarmsOf(rules, state, nowMs),
    keep() {
      if (held.length > 0) settle([]);
      else store.commit({ documents: [{ name: documentName, body: JSON.stringify(state) }] });
    },
  };
}

function restored(body: string | undefined): RoomState {
  if (body === undefined) return emptyRoomState();
  return JSON.parse(body) as RoomState;
}
