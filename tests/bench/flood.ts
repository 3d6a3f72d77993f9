import type { SimulatedProbe } from '#hub/bench/simulated-room.ts';
import { residentMB } from './child.ts';

/**
 * Probes of the ingest measurements: twenty systems with all kinds. So many, since the hub takes 20,000 readings of one topic at
 * once and drops the rest of a flood.
 */
export const probeCount = 200;
/** So many the hub takes before it packs any into blocks. */
const burstCount = 200_000;

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
export type Drained = Took & {
  /** Of these, the time of the first two hundred thousand; all of it where there are not so many. */
  burst: Took;
  sum: number;
  stored: number;
  /** Memory at its highest, MB. */
  mostMB: number;
};

export type Took = { count: number; wallS: number; cpuS: number };

/** What came after the burst. */
export function sustained({ burst, ...all }: Drained): Took {
  if (burst.count === all.count) return all;
  return { count: all.count - burst.count, wallS: all.wallS - burst.wallS, cpuS: all.cpuS - burst.cpuS };
}

/** Watches the way of so many readings: the time runs from the first to the call of `end`. */
export function createStopwatch(expected: number) {
  let count = 0;
  let sum = 0;
  let startedMs = 0;
  let cpu = process.cpuUsage();
  let burst: Took | undefined;
  const took = (): Took => {
    const { user, system } = process.cpuUsage(cpu);
    return { count, wallS: (performance.now() - startedMs) / 1000, cpuS: (user + system) / 1e6 };
  };
  return {
    /** True at the last one. */
    take(value: number): boolean {
      if (count === 0) {
        startedMs = performance.now();
        cpu = process.cpuUsage();
      }
      count += 1;
      sum += value;
      if (count === burstCount) burst = took();
      return count === expected;
    },
    end(stored: number): Drained {
      const all = took();
      return { ...all, burst: burst ?? all, sum, stored, mostMB: residentMB('self').most };
    },
  };
}
