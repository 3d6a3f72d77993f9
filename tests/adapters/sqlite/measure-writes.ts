import { mkdtempSync, readFileSync, rmSync, statSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { parseArgs } from 'node:util';
import { pointsFromReadings } from '#adapters/influx/points.ts';
import { openStore } from '#adapters/sqlite/open-store.ts';
import type { Reading, Series } from '#rules/quality/reading.ts';
import { metrics } from '#rules/quantity/metric.ts';

/**
 * Bytes written a day and bytes kept a reading, by the count of the kernel (/proc/self/io, Linux). Time is simulated, the
 * writing is real: an hour at the given rate, times 24. The folder must be on a disk, not in memory.
 *
 *     npx tsx --conditions=source tests/adapters/sqlite/measure-writes.ts [--flush-s 10] [--hours 1] [--mirror]
 */
const { values } = parseArgs({
  options: {
    'flush-s': { type: 'string', default: '10' },
    hours: { type: 'string', default: '1' },
    folder: { type: 'string', default: tmpdir() },
    mirror: { type: 'boolean', default: false },
  },
});
const flushS = Number(values['flush-s']);
const hours = Number(values.hours);
const startMs = Date.UTC(2026, 0, 5);

function writtenBytes(): number {
  const found = /^write_bytes: (\d+)$/m.exec(readFileSync('/proc/self/io', 'utf8'));
  if (!found) throw new Error('/proc/self/io has no write_bytes: this needs Linux');
  return Number(found[1]);
}

/** `streams` probes that each speak once a second. */
function measure(streams: number): void {
  const folder = mkdtempSync(join(values.folder, 'brinekeep-writes-'));
  let nowMs = startMs;
  const clock = { nowMs: () => nowMs, monotonicMs: () => nowMs };
  const series: Series[] = Array.from({ length: streams }, (_, index) => ({
    system: `system_${index % 3}`,
    metric: metrics[index % metrics.length]!,
    probe: `probe_${index}`,
  }));
  const path = join(folder, 'store.db');
  const store = openStore({
    path,
    flushMs: 3_600_000,
    clock,
    ...(values.mirror && {
      mirrorBatch: (readings: readonly Reading[]) => ({
        destination: 'influx' as const,
        key: String(nowMs),
        payload: pointsFromReadings(readings),
      }),
    }),
  });
  const before = writtenBytes();
  for (let second = 0; second < hours * 3600; second += 1) {
    nowMs = startMs + second * 1000;
    store.add(
      series.map((of, index) => ({
        series: of,
        timeMs: nowMs + index * 7,
        quality: { flag: 'pass', value: 25 + Math.sin(second / 600 + index) },
      })),
    );
    if ((second + 1) % flushS !== 0) continue;
    store.flush();
    if (values.mirror) store.acknowledge(store.outbox('influx', 100).map((item) => item.id));
  }
  store.close();
  const readings = streams * hours * 3600;
  const perDay = ((writtenBytes() - before) / hours) * 24;
  console.log(
    `${streams} readings/s, flush ${flushS} s${values.mirror ? ', mirrored' : ''}: ` +
      `${(perDay / 1e6).toFixed(0)} MB written a day, ${(statSync(path).size / readings).toFixed(1)} bytes kept a reading ` +
      `(summaries included, over ${hours} h)`,
  );
  rmSync(folder, { recursive: true });
}

for (const streams of [1, 10]) measure(streams);
