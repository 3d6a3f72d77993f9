/** Rows told one by one; the counts say the rest. */
const rowsTold = 5;

/** What an import would take or has taken, what not, and why. */
export type ImportReport = {
  took(what: string, timeMs: number): void;
  /** It is in the store already; taking it again would count it twice. */
  wasThere(what: string): void;
  left(row: number, reason: string, found: string): void;
  lines(isDryRun: boolean): string[];
  readonly leftOut: number;
};

type Taken = { count: number; firstMs: number; lastMs: number };
type Left = { count: number; rows: string[] };

/** `tests of display` with their number: `3 tests of display`, `1 test of display`. */
const counted = (count: number, what: string) => `${count} ${count === 1 ? what.replace('s of ', ' of ') : what}`;

export function importReport(path: string): ImportReport {
  const taken = new Map<string, Taken>();
  const there = new Map<string, number>();
  const left = new Map<string, Left>();
  let leftOut = 0;
  return {
    get leftOut() {
      return leftOut;
    },
    took(what, timeMs) {
      const known = taken.get(what);
      if (known === undefined) taken.set(what, { count: 1, firstMs: timeMs, lastMs: timeMs });
      else {
        known.count += 1;
        known.firstMs = Math.min(known.firstMs, timeMs);
        known.lastMs = Math.max(known.lastMs, timeMs);
      }
    },
    wasThere(what) {
      there.set(what, (there.get(what) ?? 0) + 1);
    },
    left(row, reason, found) {
      leftOut += 1;
      const known = left.get(reason) ?? { count: 0, rows: [] };
      known.count += 1;
      if (known.rows.length < rowsTold) known.rows.push(`row ${row} (${found.slice(0, 60)})`);
      left.set(reason, known);
    },
    lines(isDryRun) {
      const verb = isDryRun ? 'would import' : 'imported';
      const iso = (ms: number) => new Date(ms).toISOString();
      return [
        ...[...taken].map(
          ([what, { count, firstMs, lastMs }]) =>
            `${path}: ${verb} ${counted(count, what)}, ${iso(firstMs)} to ${iso(lastMs)}`,
        ),
        ...[...there].map(([what, count]) => `${path}: ${counted(count, what)} already in the store`),
        ...[...left].map(
          ([reason, { count, rows }]) =>
            `${path}: left out ${count}: ${reason}: ${rows.join(', ')}${count > rows.length ? ', …' : ''}`,
        ),
        ...(taken.size + there.size + left.size === 0 ? [`${path}: no rows`] : []),
      ];
    },
  };
}
