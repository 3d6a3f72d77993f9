import type { Reject } from '#adapters/ports/observation.ts';

export type RejectCounts = {
  count(reject: Reject): void;
  /** By source and reason, e.g. `serial:sump malformed`. */
  counts(): Record<string, number>;
};

/** A stranger can make up topics and channels without end; beyond this they share one line. */
const mostNames = 500;

/**
 * What arrived and did not become a reading. The log tells the first of a run of equal rejects and then, when the run has
 * grown tenfold, the count: one line for each power of ten.
 */
export function createRejectCounts(
  tell: (source: string, reason: string, found: string, count: number) => void,
): RejectCounts {
  const counts = new Map<string, number>();
  return {
    count(reject) {
      let name = `${reject.source} ${reject.reason}`;
      if (!counts.has(name) && counts.size >= mostNames) name = 'other';
      const count = (counts.get(name) ?? 0) + 1;
      counts.set(name, count);
      if (Number.isInteger(Math.log10(count))) tell(reject.source, reject.reason, reject.found.slice(0, 120), count);
    },
    counts: () => Object.fromEntries(counts),
  };
}
