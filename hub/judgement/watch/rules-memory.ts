import type { Commit, Store } from '#adapters/ports/store.ts';
import { emptyRoomState, type RoomState } from '#rules/bands/room.ts';
import {
  type CommonPart,
  commonPartOf,
  isRestless,
  joinedState,
  type SystemPart,
  systemPartOf,
} from '#rules/bands/room-parts.ts';
import { packedText, unpackedText } from './packed-text.ts';

const commonName = 'rules-state';
const nameOfPart = (system: string) => `${commonName}:${system}`;

/** So old what is stored of a quiet system may become: its running figures go on after a gap of that length. */
const quietForMs = 15 * 60_000;

type Documents = NonNullable<Commit['documents']>;

/**
 * Documents to store together, and what is to be called when they are. All of them are to be stored at once where the rest
 * of what is in the store does not fit them.
 */
export type Keepsake = { documents: Documents; isUrgent: boolean; stored(): void };

export type RulesMemory = {
  restored(): RoomState;
  /** What these systems remember now, with what belongs to no system. */
  of(state: RoomState, systems: Iterable<string>, nowMs: number): Keepsake;
  /** What is due after a minute: systems in which something is about to happen, those touched, and a share of the rest. */
  due(state: RoomState, nowMs: number): Keepsake;
  /** Everything. */
  all(state: RoomState, nowMs: number): Keepsake;
  /** A person's test or dose is known to this system's rules alone. */
  touch(system: string): void;
  /** What is stored does not fit what will be: the next time everything is. */
  stale(): void;
};

/**
 * What the rules remember, in the store: a document for each system and one for the rest. An alarm is stored with the state
 * of its own system. A quiet system is stored every quarter of an hour, in turn: what it remembers between is running figures
 * of readings that are in the store themselves.
 */
export function createRulesMemory(store: Pick<Store, 'document'>): RulesMemory {
  const writtenMs = new Map<string, number>();
  let touched = new Set<string>();
  // A store of an earlier hub has all of it in one document, until the first commit.
  let isStale = true;

  function keepsake(state: RoomState, parts: ReadonlyMap<string, SystemPart>, nowMs: number): Keepsake {
    const packed = (name: string, part: SystemPart | CommonPart) => ({ name, body: packedText(JSON.stringify(part)) });
    return {
      isUrgent: isStale,
      documents: [
        packed(commonName, commonPartOf(state)),
        ...[...parts].map(([system, part]) => packed(nameOfPart(system), part)),
      ],
      stored() {
        isStale = false;
        for (const system of parts.keys()) {
          writtenMs.set(system, nowMs);
          touched.delete(system);
        }
      },
    };
  }

  function partsOf(state: RoomState, systems: Iterable<string>): Map<string, SystemPart> {
    return new Map([...systems].map((system) => [system, systemPartOf(state, system)]));
  }

  function all(state: RoomState, nowMs: number): Keepsake {
    return keepsake(state, partsOf(state, commonPartOf(state).systems), nowMs);
  }

  return {
    restored() {
      const body = store.document(commonName);
      if (body === undefined) return emptyRoomState();
      const found = JSON.parse(unpackedText(body)) as CommonPart | RoomState;
      if (!('systems' in found)) return found;
      isStale = false;
      const parts = found.systems.flatMap((system): SystemPart[] => {
        const part = store.document(nameOfPart(system));
        return part === undefined ? [] : [JSON.parse(unpackedText(part)) as SystemPart];
      });
      return joinedState(found, parts);
    },
    all,
    of(state, systems, nowMs) {
      if (isStale) return all(state, nowMs);
      const named = [...systems].filter((system) => system !== '');
      return keepsake(state, partsOf(state, named), nowMs);
    },
    due(state, nowMs) {
      if (isStale) return all(state, nowMs);
      const parts = partsOf(state, commonPartOf(state).systems);
      const ageMs = (system: string) => Math.abs(nowMs - (writtenMs.get(system) ?? Number.NEGATIVE_INFINITY));
      const oldestFirst = [...parts.keys()].sort((a, b) => ageMs(b) - ageMs(a));
      const share = oldestFirst
        .slice(0, Math.ceil((oldestFirst.length * 60_000) / quietForMs))
        .filter((system) => ageMs(system) >= quietForMs);
      const isDue = (system: string, part: SystemPart) =>
        touched.has(system) || share.includes(system) || isRestless(part);
      return keepsake(state, new Map([...parts].filter(([system, part]) => isDue(system, part))), nowMs);
    },
    touch: (system) => void touched.add(system),
    stale() {
      isStale = true;
      touched = new Set();
    },
  };
}
