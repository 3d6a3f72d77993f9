/** What a figure should reach, and whether it did in this run. */
export type Aim = { text: string; isMet: boolean };

/** One line of the table: a figure, and its ratio to something plain that was measured beside it in the same run. */
export type Measured = {
  name: string;
  /** Operations a second, or what `unit` says. */
  figure: number;
  unit: string;
  /** `figure` over the figure of the plain thing; absent where nothing stands beside it. */
  ratio?: number;
  beside?: string;
  aim?: Aim;
  /** How it was measured, where the name does not say. */
  remark?: string;
};

/** What this machine cannot measure, and why. */
export type NotMeasured = { name: string; notMeasured: string };

export type Measurement = Measured | NotMeasured;

export type Timing = { monotonicMs(): number };

/** A group of lines that are measured together. */
export type BenchPart = {
  name: string;
  /** @param isQuick  with so little work that the figures say nothing: to see that it works */
  measure(isQuick: boolean): Promise<Measurement[]>;
};

export function atLeast(value: number, least: number, of: string): Aim {
  return { text: `at least ${least} ${of}`, isMet: value >= least };
}

export function atMost(value: number, most: number, of: string): Aim {
  return { text: `at most ${most} ${of}`, isMet: value <= most };
}

/** Operations a second of the quickest of some runs: the others were disturbed by something else. */
export async function rateOf(clock: Timing, operations: number, work: () => unknown, runs = 3): Promise<number> {
  let best = Number.POSITIVE_INFINITY;
  for (let run = 0; run < runs; run += 1) {
    const startMs = clock.monotonicMs();
    await work();
    best = Math.min(best, clock.monotonicMs() - startMs);
  }
  return operations / (best / 1000);
}
