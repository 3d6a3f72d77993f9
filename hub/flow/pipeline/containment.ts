export type Containment = {
  /** Runs one stage; a fault of ours in it ends that stage for this time only. Gives undefined then. */
  run<Result>(stage: string, work: () => Result): Result | undefined;
  counts(): Record<string, number>;
};

/**
 * Keeps a fault of the hub itself to the stage in which it happens: the other probes are still heard and the alarms still
 * go out. The first of a run is told with its stack, later ones are counted.
 */
export function createContainment(tell: (stage: string, error: unknown) => void): Containment {
  const counts = new Map<string, number>();
  return {
    run(stage, work) {
      try {
        return work();
      } catch (error) {
        const count = (counts.get(stage) ?? 0) + 1;
        counts.set(stage, count);
        if (Number.isInteger(Math.log10(count))) tell(stage, error);
        return undefined;
      }
    },
    counts: () => Object.fromEntries(counts),
  };
}
