import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { parseArgs } from 'node:util';
import Database from 'better-sqlite3';
import { pointsFromReadings } from '#adapters/influx/points.ts';
import { openStore } from '#adapters/sqlite/open-store.ts';
import type { Reading } from '#rules/quality/reading.ts';
import { startVictoriaMetrics } from '../../servers/victoria-metrics.ts';
import { simulatedProbes } from './simulated-probes.ts';

/**
 * Bytes on disk for each reading of the same noisy probes, in the store and in a VictoriaMetrics beside it, after it has
 * merged its parts. Both are given as raw readings alone and as everything that is stored.
 *
 *     npx tsx --conditions=source tests/adapters/sqlite/measure-beside-victoria.ts [--hours 48] [--probes 3] [--every-s 1]
 */
const { values } = parseArgs({
  options: {
    hours: { type: 'string', default: '48' },
    probes: { type: 'string', default: '3' },
    'every-s': { type: 'string', default: '1' },
  },
});
const startMs = Date.UTC(2026, 0, 5);
const endMs = startMs + Number(values.hours) * 3_600_000;
const everyMs = Number(values['every-s']) * 1000;

const folder = mkdtempSync(join(tmpdir(), 'brinekeep-beside-'));
const path = join(folder, 'store.db');
let nowMs = startMs;
const clock = { nowMs: () => nowMs, monotonicMs: () => nowMs };
const store = openStore({ path, flushMs: 3_600_000, clock });
const victoria = await startVictoriaMetrics();
const probes = simulatedProbes(Number(values.probes));

let count = 0;
let batch: Reading[] = [];
async function send(): Promise<void> {
  store.flush();
  const response = await fetch(`${victoria.url}/write?precision=ms`, {
    method: 'POST',
    body: pointsFromReadings(batch),
  });
  if (!response.ok) throw new Error(`VictoriaMetrics answered ${response.status}: ${await response.text()}`);
  count += batch.length;
  batch = [];
}
// Ten minutes more, so that the last of these hours are packed.
for (; nowMs < endMs + 600_000; nowMs += everyMs) {
  const readings = probes.map((probe) => probe.reading(nowMs));
  store.add(readings);
  if (nowMs < endMs) batch.push(...readings);
  if (batch.length >= 5_000) await send();
}
await send();
store.close();

const db = new Database(path, { readonly: true });
const raw = db.prepare('SELECT sum(length(body)) AS bytes, sum(count) AS count FROM blocks WHERE kind = 0').get() as {
  bytes: number;
  count: number;
};
const summaries = db.prepare('SELECT sum(length(body)) FROM blocks WHERE kind <> 0').pluck().get() as number;
const pages = db.pragma('page_count', { simple: true }) as number;
const free = db.pragma('freelist_count', { simple: true }) as number;
const pageBytes = db.pragma('page_size', { simple: true }) as number;
db.close();
const whole = (pages - free) * pageBytes;
console.log(
  `store: ${(raw.bytes / raw.count).toFixed(2)} bytes a reading raw, ${(summaries / raw.count).toFixed(3)} summaries, ` +
    `${(whole / count).toFixed(2)} of all pages in use (${count} readings)`,
);

await fetch(`${victoria.url}/internal/force_flush`);
await fetch(`${victoria.url}/internal/force_merge`);
const sizeOf = async (what: RegExp) => {
  const text = await (await fetch(`${victoria.url}/metrics`)).text();
  return text
    .split('\n')
    .filter((line) => line.startsWith('vm_data_size_bytes') && what.test(line))
    .reduce((sum, line) => sum + Number(line.split(' ').at(-1)), 0);
};
// Merging goes on after the answer: until the size has been the same three times.
let size = -1;
for (let same = 0; same < 3; ) {
  await new Promise((resolve) => setTimeout(resolve, 1_000));
  const now = await sizeOf(/storage/);
  same = now === size ? same + 1 : 0;
  size = now;
}
console.log(
  `victoria-metrics: ${(size / count).toFixed(2)} bytes a reading raw, ${((await sizeOf(/./)) / count).toFixed(2)} with its index`,
);
await victoria.stop();
rmSync(folder, { recursive: true });
