import type { JournalKind } from '#adapters/ports/store.ts';
import type { DemandAnalyte } from '#rules/trend/demand-facts.ts';
import type { DemandEstimate } from '#rules/trend/demand-filter.ts';

/** Of a system; beyond it all are forgotten. Two for each arrival whose use is still told would do. */
const mostKept = 64;

export type PastEstimates = {
  /** As it was worked out before, else by `work`. */
  at(
    system: string,
    analyte: DemandAnalyte,
    timeMs: number,
    work: () => DemandEstimate | undefined,
  ): DemandEstimate | undefined;
  /** Something is in the journal for this time: what was known before it stays. */
  entered(kind: JournalKind, system: string, timeMs: number): void;
  forget(system: string): void;
};

/** Estimates of past moments: each costs a run through months of entries, and the page asks for the same ones all the time. */
export function createPastEstimates(): PastEstimates {
  const known = new Map<string, Map<string, { timeMs: number; estimate: DemandEstimate | undefined }>>();
  return {
    at(system, analyte, timeMs, work) {
      const own = known.get(system) ?? new Map();
      known.set(system, own);
      const key = `${analyte} ${timeMs}`;
      const found = own.get(key);
      if (found !== undefined) return found.estimate;
      const estimate = work();
      if (own.size >= mostKept) own.clear();
      own.set(key, { timeMs, estimate });
      return estimate;
    },
    entered(kind, system, timeMs) {
      const own = known.get(system);
      // What was taken back comes as a note, and what was corrected as a test that counts now: it may be of any time.
      if (kind === 'note' || kind === 'test') own?.clear();
      else for (const [key, kept] of own ?? []) if (kept.timeMs >= timeMs) own?.delete(key);
    },
    forget: (system) => void known.delete(system),
  };
}
