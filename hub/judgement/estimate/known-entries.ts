import type { JournalKind, Store } from '#adapters/ports/store.ts';
import { type Entry, readJournal } from '../../model/journal/journal.ts';

const datedKinds = ['test', 'dose', 'water_change', 'arrival'] as const;
/** A plan or a refill of last year still holds. */
const standingKinds = ['plan', 'refill'] as const;
const usedKinds: ReadonlySet<JournalKind> = new Set([...datedKinds, ...standingKinds]);
/** Some 25 MB. Beyond it the system that was asked for longest ago is read from the journal again. */
const mostKept = 50_000;

type Kept = { entries: Entry[]; ids: Set<number> };

export type KnownEntries = {
  /** As `readEntries`. */
  of(system: string, fromMs: number): readonly Entry[];
  /** An entry of this kind and time was put into the journal, or one was taken back. */
  entered(kind: JournalKind, system: string, timeMs: number): void;
  forget(system: string): void;
};

/** What counts of a system since `fromMs`, oldest first within each kind; plans and refills from the beginning. */
export function readEntries(store: Pick<Store, 'journal'>, system: string, fromMs: number): Entry[] {
  return [
    ...datedKinds.flatMap((kind) => readJournal(store, { kind, system, fromMs })),
    ...standingKinds.flatMap((kind) => readJournal(store, { kind, system })),
  ];
}

/**
 * The entries of the systems, kept so that a machine which logs a dose each quarter of an hour does not make the hub read
 * four months of doses each quarter of an hour.
 *
 * Is: what the journal held when last read, and each entry told since. Is not: what others put there without a word; the
 * hourly round reads again.
 */
export function createKnownEntries(store: Pick<Store, 'journal'>): KnownEntries {
  const kept = new Map<string, Kept>();

  function read(system: string, fromMs: number): Kept {
    const entries = readEntries(store, system, fromMs);
    return { entries, ids: new Set(entries.map(({ id }) => id)) };
  }

  function makeRoom(): void {
    let sum = 0;
    for (const [system, { entries }] of [...kept].reverse()) {
      sum += entries.length;
      if (sum > mostKept) kept.delete(system);
    }
  }

  return {
    of(system, fromMs) {
      const known = kept.get(system) ?? read(system, fromMs);
      kept.delete(system);
      kept.set(system, known);
      makeRoom();
      return known.entries;
    },
    entered(kind, system, timeMs) {
      const known = kept.get(system);
      if (known === undefined) return;
      const found = usedKinds.has(kind) ? readJournal(store, { kind, system, fromMs: timeMs, toMs: timeMs + 1 }) : [];
      const news = found.filter(({ id }) => !known.ids.has(id));
      // Nothing new at that time: an entry was taken back or corrected, and which one is not said.
      if (news.length === 0 || news.some(({ corrects }) => corrects !== undefined)) {
        kept.delete(system);
        return;
      }
      for (const entry of news) {
        const after = known.entries.findLastIndex((each) => each.kind === kind && each.timeMs <= entry.timeMs);
        const first = known.entries.findIndex((each) => each.kind === kind);
        known.entries.splice(after >= 0 ? after + 1 : Math.max(0, first), 0, entry);
        known.ids.add(entry.id);
      }
    },
    forget: (system) => void kept.delete(system),
  };
}
