import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import type { HubAdapters } from '#adapters/ports/hub-adapters.ts';
import { hourMs } from '#rules/clock/durations.ts';
import { atMost, type BenchPart, type Measurement } from './measurement.ts';
import { roomAtWork } from './room-at-work.ts';
import { everyMs, roomConfig, roundOf, simulatedProbes } from './simulated-room.ts';

type Cost = { microsecondsEach: number; longestPauseMs: number };

/** Rounds of all probes, each round ten seconds later, with what the hub does by the clock between them. */
function costAt(adapters: HubAdapters, metricCount: number, wanted: number): Cost {
  const dir = mkdtempSync(join(tmpdir(), 'brinekeep-bench-'));
  const probes = simulatedProbes(metricCount);
  const config = roomConfig(probes);
  const onFault = ({ detail }: { detail: string }) => {
    throw new Error(detail);
  };
  const store = adapters.openStore({ path: join(dir, 'store.db'), flushMs: hourMs, onFault });
  let timeMs = Date.UTC(2026, 0, 5);
  const room = roomAtWork(config, store, timeMs);
  let counted = 0;
  let used = process.cpuUsage();
  let longestPauseMs = 0;
  const timed = (work: () => void): number => {
    const startedMs = performance.now();
    work();
    return performance.now() - startedMs;
  };
  // The first sixth shows the rules all streams and warms the machine; it is not counted. At least two minutes are.
  // At most four hours: each round waits for the disk, however little it writes.
  const rounds = Math.min(1500, Math.max(14, Math.ceil(wanted / metricCount)));
  const first = Math.ceil(rounds / 6);
  for (let round = 0; round < rounds; round += 1) {
    if (round === first) {
      used = process.cpuUsage();
      longestPauseMs = 0;
      counted = room.readings();
    }
    const observations = roundOf(probes, timeMs);
    timeMs += everyMs;
    // One at a time, as they come in over MQTT.
    for (const observation of observations) room.accept([observation], observation.receivedMs);
    const pauses = [
      timed(() => room.tick(timeMs - everyMs / 2)),
      timed(() => room.tick(timeMs)),
      timed(() => store.flush()),
      round % 6 === 5 ? timed(() => room.everyMinute(timeMs)) : 0,
    ];
    longestPauseMs = Math.max(longestPauseMs, ...pauses);
  }
  const { user, system } = process.cpuUsage(used);
  const microsecondsEach = (user + system) / (room.readings() - counted);
  room.stop();
  store.close();
  rmSync(dir, { recursive: true, force: true });
  return { microsecondsEach, longestPauseMs };
}

/** What a reading costs the processor in rooms of different size, from the pipeline to the disk, all that the hub does by the clock included. */
export function growthPart(adapters: HubAdapters): BenchPart {
  return {
    name: 'growth',
    async measure(isQuick) {
      const lines: Measurement[] = [];
      let smallest: number | undefined;
      for (const count of isQuick ? [10, 100] : [10, 100, 1000, 5000]) {
        const { microsecondsEach, longestPauseMs } = costAt(adapters, count, isQuick ? 2000 : 120_000);
        smallest ??= microsecondsEach;
        const ratio = microsecondsEach / smallest;
        lines.push({
          name: `a reading in a room of ${count} metrics, all stages, rules and store`,
          figure: microsecondsEach,
          unit: 'µs',
          ratio,
          beside: 'that of 10 metrics',
          aim: atMost(ratio, 1.5, 'of that of 10 metrics'),
          remark: `no reading is taken for up to ${longestPauseMs.toFixed(0)} ms`,
        });
      }
      return lines;
    },
  };
}
