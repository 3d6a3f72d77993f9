/** One line of the table: a rate, and its ratio to something plain that was measured beside it in the same run. */
export type Measurement = {
  name: string;
  /** Operations a second, or what `unit` says. */
  figure: number;
  unit: string;
  /** `figure` over the figure of the plain thing; absent where nothing stands beside it. */
  ratio?: number;
  beside?: string;
};

export type Timing = { monotonicMs(): number };

/** Operations a second of the quickest of three runs: the others were disturbed by something else. */
export async function rateOf(clock: Timing, operations: number, work: () => unknown): Promise<number> {
  let best = Number.POSITIVE_INFINITY;
  for (let run = 0; run < 3; run += 1) {
    const startMs = clock.monotonicMs();
    await work();
    best = Math.min(best, clock.monotonicMs() - startMs);
  }
  return operations / (best / 1000);
}
