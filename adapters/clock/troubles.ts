/** A trouble that has not come again for so long is over. */
const rememberedMs = 5 * 60_000;
/** Further kinds go untold until one of these is over. */
const mostTold = 10;

/** What goes wrong now and then beside the work: told in a sentence until it has not happened for a while. */
export function createTroubles(monotonicMs: () => number) {
  const seen = new Map<string, { times: number; lastMs: number; tell(times: number): string }>();
  return {
    happened(what: string, tell: (times: number) => string): void {
      const known = seen.get(what);
      if (known === undefined && seen.size >= mostTold) return;
      const isOld = known === undefined || monotonicMs() - known.lastMs > rememberedMs;
      seen.set(what, { times: isOld ? 1 : known.times + 1, lastMs: monotonicMs(), tell });
    },
    text(): string | undefined {
      for (const [what, { lastMs }] of seen) if (monotonicMs() - lastMs > rememberedMs) seen.delete(what);
      const told = [...seen.values()].map(({ times, tell }) => tell(times));
      return told.length === 0 ? undefined : told.join('; ');
    },
  };
}

export type Troubles = ReturnType<typeof createTroubles>;
