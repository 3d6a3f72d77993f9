import type { Store } from '#adapters/ports/store.ts';
import type { Config } from '../../model/config/schema.ts';
import { evidenceSince, lastEntryRecordedBy } from '../estimate/entry-evidence.ts';
import type { Watch } from './watch.ts';

export type JudgingParts = {
  config: Config;
  store: Pick<Store, 'journal'>;
  watch: Pick<Watch, 'judge' | 'judgedOf'>;
  now(): number;
  monotonicMs(): number;
  /** Runs the work; a fault of it stays in there. False when there was one. */
  contained(work: () => void): void;
};

export type Judging = {
  /** Something of this system is in the journal: the rules judge all of it that they have not judged. */
  entered(system: string): void;
  /** The same for every system of which something may be left: all of them at the start, later those that failed. */
  catchUp(): void;
  /** Systems with entries that are not judged, and for how long, milliseconds. */
  behind(): { systems: number; forMs: number };
};

/**
 * Between the journal and the rules: what people entered is judged, once.
 *
 * Is: each test and dose moves the rules exactly once. How far in the journal they have come is stored in the document of
 * their state, so the two are never apart: an entry that was on disk when the process died is judged at the next start, and one
 * that was judged is not judged again. A fault while judging leaves the entry to the next try, within seconds.
 * Is not: judged in the transaction that keeps the entry; between the two the alarm is not there yet.
 */
export function createJudging(parts: JudgingParts): Judging {
  const { config, store, watch, now, monotonicMs, contained } = parts;
  const systems = new Map(config.systems.map((system) => [system.id, system]));
  /** Since when something waits, by system. */
  const waiting = new Map<string, number>([...systems.keys()].map((id) => [id, monotonicMs()]));

  function judgedUpTo(id: string): number {
    const judged = watch.judgedOf(id);
    if (judged !== undefined && 'entry' in judged) return judged.entry;
    const lastEntry = judged === undefined ? 0 : lastEntryRecordedBy(store, id, judged.recordedMs);
    // From now on by its number: a clock that steps back would make what is entered next look old.
    watch.judge({ system: id, evidence: [], lastEntry }, now());
    return lastEntry;
  }

  function judge(id: string): void {
    const system = systems.get(id);
    if (system === undefined) return;
    if (!waiting.has(id)) waiting.set(id, monotonicMs());
    contained(() => {
      const entered = evidenceSince(store, system, judgedUpTo(id));
      if (entered !== undefined) watch.judge({ system: id, ...entered }, now());
      waiting.delete(id);
    });
  }

  return {
    entered: judge,
    catchUp() {
      for (const id of [...waiting.keys()]) judge(id);
    },
    behind() {
      const [since] = waiting.values();
      return { systems: waiting.size, forMs: since === undefined ? 0 : monotonicMs() - since };
    },
  };
}
