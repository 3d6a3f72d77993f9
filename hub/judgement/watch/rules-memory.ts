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
import { alarmsOfPart, type PartAlarms, withAlarms } from './part-alarms.ts';

const commonName = 'rules-state';
const nameOfPart = (system: string) => `${commonName}:${system}`;
const nameOfChanges = (system: string) => `rules-since:${system}`;

/** So old what is stored of a quiet system may become: its running figures go on after a gap of that length. */
const quietForMs = 15 * 60_000;

type Documents = NonNullable<Commit['documents']>;

/**
 * Documents to store together, and what is to be called when they are. All of them are to be stored at once where the rest
 * of what is in the store does not fit them.
 */
export type DocumentsDue = { documents: Documents; isUrgent: boolean; stored(): void };

/** An entry of the journal; where a store of an earlier hub does not say which, the time of its state. */
export type JudgedUpTo = { entry: number } | { recordedMs: number };

/**
 * As it is stored: what the rules remember of a system, how far in the journal that reaches, and how often it was written: by that
 * number the changes since then name it.
 */
type StoredPart = SystemPart & { judgedEntry?: number; edition?: number };

/** The alarms that have changed since an edition of their system's part. */
type StoredChanges = { after: number; alarms: PartAlarms };

/** A system's part as it was written last. */
type Written = { edition: number; streams: number; alarms: ReadonlyMap<string, string> };

export type RulesMemory = {
  restored(): RoomState;
  /** What is to be stored with events of these systems, and what belongs to no system. */
  of(state: RoomState, systems: Iterable<string>, nowMs: number): DocumentsDue;
  /** What is due after a minute: systems in which something is about to happen, those touched, and a share of the rest. */
  due(state: RoomState, nowMs: number): DocumentsDue;
  /** Everything. */
  all(state: RoomState, nowMs: number): DocumentsDue;
  /** The last journal entry of a system that its stored rules have judged; undefined where nothing is stored of it. */
  judgedOf(system: string): JudgedUpTo | undefined;
  /** This system's rules have judged the journal up to this entry: stored with their state, never without it. */
  judged(system: string, entry: number): void;
  /** What is stored does not fit what will be: the next time everything is. */
  stale(): void;
};

/**
 * What the rules remember, in the store: a document for each system and one for the rest. A system is stored whole every quarter of
 * an hour, in turn, and with entries that were judged: what it remembers between is running figures of readings that are in the
 * store themselves. With an event only the alarms of its system are stored that have changed since: some hundred bytes and not some
 * thousand.
 *
 * @param systems     that are watched; where the list of those remembered is lost, their parts are still found
 * @param unreadable  called with the name of a document that is none of ours
 */
export function createRulesMemory(
  store: Pick<Store, 'document'>,
  systems: Iterable<string> = [],
  unreadable: (name: string) => void = () => {},
): RulesMemory {
  const writtenMs = new Map<string, number>();
  const judgedBy = new Map<string, JudgedUpTo>();
  const written = new Map<string, Written>();
  let touched = new Set<string>();
  // A store of an earlier hub has all of it in one document, until the first commit.
  let isStale = true;

  /** @param whole  systems that are stored so; of the other parts only the alarms that have changed, where that tells all */
  function documentsDue(
    state: RoomState,
    parts: ReadonlyMap<string, SystemPart>,
    nowMs: number,
    whole: (system: string) => boolean,
  ): DocumentsDue {
    const documents = [document(commonName, commonPartOf(state))];
    const editions = new Map<string, Written>();
    for (const [system, part] of parts) {
      const alarms = alarmsOfPart(part);
      const changes = whole(system) ? undefined : changesOf(system, part, alarms);
      if (changes !== undefined) documents.push(document(nameOfChanges(system), changes));
      else {
        const edition = nextEdition(written.get(system)?.edition, nowMs);
        documents.push(document(nameOfPart(system), { ...withJudged(system, part), edition }));
        editions.set(system, { edition, streams: part.series.length, alarms: textsOf(alarms) });
      }
    }
    return {
      documents,
      isUrgent: isStale,
      stored() {
        isStale = false;
        for (const [system, edition] of editions) {
          written.set(system, edition);
          writtenMs.set(system, nowMs);
          touched.delete(system);
        }
      },
    };
  }

  /** Undefined where the part as a whole has to be stored. */
  function changesOf(system: string, part: SystemPart, alarms: PartAlarms): StoredChanges | undefined {
    const last = written.get(system);
    if (last === undefined || touched.has(system) || part.series.length !== last.streams) return undefined;
    const names = new Set(alarms.map(([name]) => name));
    if ([...last.alarms.keys()].some((name) => !names.has(name))) return undefined;
    return {
      after: last.edition,
      alarms: alarms.filter(([name, record]) => last.alarms.get(name) !== JSON.stringify(record)),
    };
  }

  function withJudged(system: string, part: SystemPart): StoredPart {
    const judged = judgedBy.get(system);
    return judged !== undefined && 'entry' in judged ? { ...part, judgedEntry: judged.entry } : part;
  }

  function restoredPart(system: string): SystemPart[] {
    const stored = read<StoredPart>(nameOfPart(system));
    if (stored === undefined) return [];
    const { judgedEntry, edition, ...part } = stored;
    judgedBy.set(system, judgedEntry === undefined ? { recordedMs: part.nowMs ?? 0 } : { entry: judgedEntry });
    if (edition === undefined) return [part];
    written.set(system, { edition, streams: part.series.length, alarms: textsOf(alarmsOfPart(part)) });
    const changes = read<StoredChanges>(nameOfChanges(system));
    return [changes?.after === edition ? withAlarms(part, changes.alarms) : part];
  }

  function partsOf(state: RoomState, systems: Iterable<string>): Map<string, SystemPart> {
    return new Map([...systems].map((system) => [system, systemPartOf(state, system)]));
  }

  function all(state: RoomState, nowMs: number): DocumentsDue {
    return documentsDue(state, partsOf(state, commonPartOf(state).systems), nowMs, () => true);
  }

  /** Undefined also for what is not a document of ours: the rules then begin again, and raise again what is wrong. */
  function read<Part extends object>(name: string): Part | undefined {
    const body = store.document(name);
    if (body === undefined) return undefined;
    try {
      const found: unknown = JSON.parse(body);
      if (typeof found === 'object' && found !== null) return found as Part;
    } catch {
      // Told below.
    }
    unreadable(name);
    return undefined;
  }

  return {
    restored() {
      const found = read<CommonPart | RoomState>(commonName) ?? {
        ...commonPartOf(emptyRoomState()),
        systems: [...systems],
      };
      if (!('systems' in found)) {
        for (const system of commonPartOf(found).systems) judgedBy.set(system, { recordedMs: found.nowMs ?? 0 });
        return found;
      }
      isStale = found.nowMs === null;
      return joinedState(found, found.systems.flatMap(restoredPart));
    },
    all,
    of(state, systems, nowMs) {
      if (isStale) return all(state, nowMs);
      const named = [...systems].filter((system) => system !== '');
      return documentsDue(state, partsOf(state, named), nowMs, () => false);
    },
    due(state, nowMs) {
      if (isStale) return all(state, nowMs);
      const parts = partsOf(state, commonPartOf(state).systems);
      const ageMs = (system: string) => Math.abs(nowMs - (writtenMs.get(system) ?? Number.NEGATIVE_INFINITY));
      const oldestFirst = [...parts.keys()].sort((a, b) => ageMs(b) - ageMs(a));
      const share = oldestFirst
        .slice(0, Math.ceil((oldestFirst.length * 60_000) / quietForMs))
        .filter((system) => ageMs(system) >= quietForMs);
      const isWhole = (system: string) => touched.has(system) || share.includes(system);
      const due = new Map([...parts].filter(([system, part]) => isWhole(system) || isRestless(part)));
      return documentsDue(state, due, nowMs, isWhole);
    },
    judgedOf: (system) => judgedBy.get(system),
    judged(system, entry) {
      judgedBy.set(system, { entry });
      touched.add(system);
    },
    stale() {
      isStale = true;
      touched = new Set();
    },
  };
}

/**
 * Counts on, and from the time where the last number is not known: after a whole that could not be read, changes of an earlier edition must
 * not fit the next one.
 */
export function nextEdition(last: number | undefined, nowMs: number): number {
  return last === undefined ? Math.floor(nowMs) : last + 1;
}

function document(name: string, part: StoredPart | CommonPart | StoredChanges): Documents[number] {
  return { name, body: JSON.stringify(part) };
}

function textsOf(alarms: PartAlarms): Map<string, string> {
  return new Map(alarms.map(([name, record]) => [name, JSON.stringify(record)]));
}
