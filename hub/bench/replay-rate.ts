import { closeSync, mkdtempSync, openSync, rmSync, writeSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import type { ReadingsFiles } from '#adapters/ports/readings-files.ts';
import { configSchema } from '../config/schema.ts';
import { recordingHeader, recordRoom } from '../demo/record.ts';
import { readingsInOrder } from '../replay/in-order.ts';
import { createReplay } from '../replay/replay-engine.ts';
import { type Measurement, rateOf, type Timing } from './measurement.ts';

const wanted = 500_000;

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

function record(path: string): number {
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

/** 500 000 recorded readings of the invented room through the pipeline's stages and the rules, beside reading the file alone. */
export async function measureReplay(files: ReadingsFiles, clock: Timing): Promise<Measurement[]> {
  const dir = mkdtempSync(join(tmpdir(), 'brinekeep-bench-'));
  try {
    const path = join(dir, `${recordingHeader.length}.csv`);
    const readings = record(path);
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
        name: `replay of ${readings} readings`,
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
