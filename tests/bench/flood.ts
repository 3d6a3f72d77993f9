import type { SimulatedProbe } from '#hub/bench/simulated-room.ts';

/** Probes of the ingest measurements: two systems with all kinds. */
export const probeCount = 20;

export type FloodReading = { topic: string; timeMs: number; value: number };

/** Readings with times of their own, each probe every second, up to now: no two of a probe share a millisecond. */
export function* floodReadings(
  probes: readonly SimulatedProbe[],
  count: number,
  endMs: number,
): Generator<FloodReading> {
  for (let n = 0; n < count; n += 1) {
    const probe = probes[n % probes.length]!;
    const timeMs = endMs - Math.ceil((count - n) / probes.length) * 1000;
    yield { topic: probe.topic, timeMs, value: probe.valueAt(timeMs) };
  }
}

/** SenML (RFC 8428) of one reading. */
export function senmlOf({ timeMs, value }: { timeMs: number; value: number }): string {
  return `[{"n":"v","t":${timeMs / 1000},"v":${value}}]`;
}

/** What a process took to receive all that waited for it. */
export type Drained = { count: number; sum: number; wallS: number; cpuS: number; stored: number };

/** Watches the way of so many readings: the time runs from the first to the call of `end`. */
export function createStopwatch(expected: number) {
  let count = 0;
  let sum = 0;
  let startedMs = 0;
  let cpu = process.cpuUsage();
  return {
    /** True at the last one. */
    take(value: number): boolean {
      if (count === 0) {
        startedMs = performance.now();
        cpu = process.cpuUsage();
      }
      count += 1;
      sum += value;
      return count === expected;
    },
    end(stored: number): Drained {
      const { user, system } = process.cpuUsage(cpu);
      return { count, sum, wallS: (performance.now() - startedMs) / 1000, cpuS: (user + system) / 1e6, stored };
    },
  };
}
