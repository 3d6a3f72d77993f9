import type { Observation } from '#adapters/ports/observation.ts';
import { createHistogram, type Histogram } from './open-metrics.ts';

/** More sources than any configuration has; beyond it they share one name. */
const mostSources = 5_000;

/** What came in and how long it took to store and judge it. */
export type Traffic = {
  /** Runs the work for these observations and times it. */
  measure(observations: readonly Observation[], work: () => void): void;
  bySource(): ReadonlyMap<string, number>;
  judging: Histogram;
};

export function createTraffic(monotonicMs: () => number): Traffic {
  const sources = new Map<string, number>();
  // Seconds: a reading takes microseconds, a stalled disk seconds.
  const judging = createHistogram([0.0001, 0.0005, 0.001, 0.005, 0.01, 0.05, 0.1, 0.5, 1, 5]);
  return {
    judging,
    measure(observations, work) {
      for (const { source } of observations) {
        const name = sources.has(source) || sources.size < mostSources ? source : 'other';
        sources.set(name, (sources.get(name) ?? 0) + 1);
      }
      const startedMs = monotonicMs();
      try {
        work();
      } finally {
        judging.observe((monotonicMs() - startedMs) / 1000);
      }
    },
    bySource: () => sources,
  };
}
