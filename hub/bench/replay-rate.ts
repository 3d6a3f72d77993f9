import { closeSync, mkdtempSync, openSync, rmSync, writeSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { setFlagsFromString } from 'node:v8';
import { runInNewContext } from 'node:vm';
import type { ReadingsFiles } from '#adapters/ports/readings-files.ts';
import { dayMs } from '#rules/clock/durations.ts';
import { recordRoom } from '../demo/record.ts';
import { configSchema } from '../model/config/schema.ts';
import { readingsInOrder } from '../reports/replay/in-order.ts';
import { createReplay } from '../reports/replay/replay-engine.ts';
import { atLeast, type BenchPart, type Measurement, rateOf, type Timing } from './measurement.ts';

const config = configSchema.parse({
  site: { name: 'Invented room' },
  systems: ['display', 'growout', 'quarantine'].map((id) => ({
    id,
    name: id,
    volume_l: 400,
    bands: {
      temperature: { low: 24.5, high: 26.6 },
      ph: { low: 7.8, high: 8.6 },
      salinity: { low: 33.5, high: 37, most_per_day: 0.8 },
    },
  })),
});

function record(path: string, wanted: number): number {
  const file = openSync(path, 'w');
  let lines = 0;
  let block = '';
  for (const line of recordRoom({ days: 16, everySeconds: 30, seed: 11 })) {
    block += `${line}\n`;
    lines += 1;
    if (lines > wanted) break;
    if (block.length > 65_536) {
      writeSync(file, block);
      block = '';
    }
  }
  writeSync(file, block);
  closeSync(file);
  return lines - 1;
}

/** Recorded readings of the invented room from a file through the pipeline's stages and the rules, beside reading it alone. */
async function measureFile(files: ReadingsFiles, clock: Timing, wanted: number): Promise<Measurement[]> {
  const dir = mkdtempSync(join(tmpdir(), 'brinekeep-bench-'));
  try {
    const path = join(dir, 'readings.csv');
    const readings = record(path, wanted);
    const report = { badRow: () => {} };
    const read = await rateOf(clock, readings, async () => {
      for await (const _block of readingsInOrder(files, [path], report));
    });
    const replayed = await rateOf(clock, readings, async () => {
      const engine = createReplay(config, () => {});
      for await (const block of readingsInOrder(files, [path], report)) {
        for (const { timeMs, system, metric, value } of block) engine.reading(timeMs, system, metric, value);
      }
    });
    return [
      {
        name: `replay of ${readings} readings from a CSV file`,
        figure: replayed,
        unit: 'readings/s',
        ratio: replayed / read,
        beside: 'the file read and checked alone',
      },
    ];
  } finally {
    rmSync(dir, { recursive: true, force: true });
  }
}

const yearMs = 365 * dayMs;
const everyMs = 10_000;
/** Two tanks with the three probes that most rooms have. Days swing, and a ripple keeps the numbers from standing still. */
const probesOfYear = ['display', 'growout'].flatMap((system) => [
  { system, metric: 'temperature', middle: 25.6, swing: 0.3 },
  { system, metric: 'ph', middle: 8.15, swing: 0.12 },
  { system, metric: 'salinity', middle: 35, swing: 0.1 },
]);

function valueAt(middle: number, swing: number, timeMs: number): number {
  const day = (timeMs / dayMs) * 2 * Math.PI;
  return middle + swing * Math.sin(day) + (swing / 20) * Math.sin(timeMs / 7919);
}

/** What is alive: without a collection it would be the garbage of what ran before as well. */
function heapMeter(): () => number {
  setFlagsFromString('--expose-gc');
  const collect = runInNewContext('gc') as () => void;
  return () => {
    collect();
    return process.memoryUsage().heapUsed / 1e6;
  };
}

/** A year of six probes at ten seconds, generated and not stored, through the pipeline's stages and the rules. */
async function measureYear(clock: Timing, rounds: number): Promise<Measurement[]> {
  const startMs = Date.UTC(2026, 0, 1);
  const readings = rounds * probesOfYear.length;
  let sum = 0;
  const bare = await rateOf(
    clock,
    readings,
    () => {
      for (let timeMs = startMs; timeMs < startMs + rounds * everyMs; timeMs += everyMs) {
        for (const { middle, swing } of probesOfYear) sum += valueAt(middle, swing, timeMs);
      }
    },
    1,
  );
  const heapMB = heapMeter();
  let events = 0;
  let earlyMB = 0;
  let lateMB = 0;
  const replayed = await rateOf(
    clock,
    readings,
    () => {
      const engine = createReplay(config, (more) => {
        events += more.length;
      });
      for (let round = 0; round < rounds; round += 1) {
        const timeMs = startMs + round * everyMs;
        for (const { system, metric, middle, swing } of probesOfYear) {
          engine.reading(timeMs, system, metric, valueAt(middle, swing, timeMs));
        }
        if (round === Math.floor(rounds / 10)) earlyMB = heapMB();
      }
      lateMB = heapMB();
    },
    1,
  );
  return [
    {
      name: `replay of ${readings} readings from memory`,
      figure: replayed,
      unit: 'readings/s',
      ratio: replayed / bare,
      beside: 'the loop that makes the readings',
      aim: atLeast(replayed, 1_000_000, 'readings/s'),
      remark: `${events} events, sum ${Math.round(sum)}`,
    },
    {
      name: 'heap at the end of that replay',
      figure: lateMB,
      unit: 'MB',
      ratio: lateMB / earlyMB,
      beside: 'that at a tenth of it',
      aim: { text: 'no growth', isMet: lateMB < earlyMB * 1.2 + 2 },
    },
  ];
}

export function replayParts(files: ReadingsFiles, clock: Timing): BenchPart[] {
  return [
    { name: 'replay', measure: (isQuick) => measureYear(clock, isQuick ? 30_000 : yearMs / everyMs) },
    { name: 'replay-file', measure: (isQuick) => measureFile(files, clock, isQuick ? 2000 : 500_000) },
  ];
}
