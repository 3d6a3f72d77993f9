import { mkdtempSync, readFileSync, rmSync, statSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { setTimeout as pause } from 'node:timers/promises';
import { parseArgs } from 'node:util';
import Database from 'better-sqlite3';
import { pointsFromReadings } from '#adapters/influx/points.ts';
import { openStore } from '#adapters/sqlite/open-store.ts';
import type { Reading } from '#rules/quality/reading.ts';
import { simulatedProbes } from './simulated-probes.ts';

/**
 * Bytes written a day and bytes kept a reading, by the count of the kernel (/proc/self/io, Linux): what the process had
 * written to the device. The folder must be on a disk, not in memory.
 *
 *     npx tsx --conditions=source tests/adapters/sqlite/measure-writes.ts [--flush-s 10] [--hours 12] [--mirror]
 *     npx tsx --conditions=source tests/adapters/sqlite/measure-writes.ts --real-time-s 300
 *
 * Without `--real-time-s` time is simulated, the writing is real: so many hours at the given rate, times 24 by their number.
 * With it the store lives for so long, and what the kernel writes out by itself in the meantime is counted too.
 */
const { values } = parseArgs({
  options: {
    'flush-s': { type: 'string', default: '10' },
    hours: { type: 'string', default: '12' },
    rate: { type: 'string', default: '10' },
    'real-time-s': { type: 'string' },
    folder: { type: 'string', default: tmpdir() },
    mirror: { type: 'boolean', default: false },
  },
});
const flushS = Number(values['flush-s']);
const streams = Number(values.rate);
const startMs = Date.UTC(2026, 0, 5);

function writtenBytes(): number {
  const found = /^write_bytes: (\d+)$/m.exec(readFileSync('/proc/self/io', 'utf8'));
  if (!found) throw new Error('/proc/self/io has no write_bytes: this needs Linux');
  return Number(found[1]);
}

const folder = mkdtempSync(join(values.folder, 'brinekeep-writes-'));
const path = join(folder, 'store.db');
let nowMs = startMs;
const store = openStore({
  path,
  flushMs: 3_600_000,
  clock: { nowMs: () => nowMs, monotonicMs: () => nowMs },
  ...(values.mirror && {
    mirrorBatch: (readings: readonly Reading[]) => ({
      destination: 'influx' as const,
      key: String(nowMs),
      payload: pointsFromReadings(readings),
    }),
  }),
});
const probes = simulatedProbes(streams);

/** `streams` probes that each speak once a second. */
function oneSecond(second: number): void {
  nowMs = startMs + second * 1000;
  store.add(probes.map((probe) => probe.reading(nowMs)));
  if ((second + 1) % flushS !== 0) return;
  store.flush();
  if (values.mirror) store.acknowledge(store.outbox('influx', 100).map((item) => item.id));
}

function report(written: number, seconds: number): void {
  const what = `${streams} readings/s, flush ${flushS} s${values.mirror ? ', mirrored' : ''}`;
  console.log(`${what}: ${((written / seconds) * 0.0864).toFixed(1)} MB written a day, over ${seconds} s`);
}

if (values['real-time-s'] !== undefined) {
  const seconds = Number(values['real-time-s']);
  // The first commits, as after a start, are not those of a day.
  const settleS = 20;
  let before = 0;
  const started = performance.now();
  for (let second = 0; second < seconds + settleS; second += 1) {
    if (second === settleS) before = writtenBytes();
    oneSecond(second);
    await pause(Math.max(0, started + (second + 1) * 1000 - performance.now()));
  }
  report(writtenBytes() - before, seconds);
  store.close();
} else {
  const seconds = Number(values.hours) * 3600;
  const before = writtenBytes();
  for (let second = 0; second < seconds; second += 1) oneSecond(second);
  // Five minutes later the last hours are packed, as they are in the long run.
  oneSecond(seconds + flushS * 60 - 1);
  store.close();
  report(writtenBytes() - before, seconds);
  const db = new Database(path, { readonly: true });
  const readings = streams * seconds;
  const bytes = (kind: number) =>
    (db.prepare('SELECT coalesce(sum(length(body)), 0) FROM blocks WHERE kind = ?').pluck().get(kind) as number) /
    readings;
  console.log(
    `bytes a reading: ${bytes(0).toFixed(2)} raw, ${(bytes(1) + bytes(2)).toFixed(3)} summaries, ` +
      `${(statSync(path).size / readings).toFixed(2)} of the whole file with free pages`,
  );
  db.close();
}
rmSync(folder, { recursive: true });
