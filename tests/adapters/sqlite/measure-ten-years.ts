import { mkdtempSync, rmSync, statSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { parseArgs } from 'node:util';
import type { Store, Summary } from '#adapters/ports/store.ts';
import { openStore } from '#adapters/sqlite/open-store.ts';
import { simulatedProbes } from './simulated-probes.ts';

/**
 * Builds a store of so many years and measures, each several times, how long it takes to open it and to answer a chart of a
 * day, a month, a year and all of it, at about a thousand points; and a raw day. Prints the median of each.
 *
 *     npx tsx --conditions=source tests/adapters/sqlite/measure-ten-years.ts [--years 10] [--probes 2] [--every-s 60]
 *
 * The readings are less dense than those of a room, so that building takes a minute or two. The summaries are as many as in
 * any room, and the chart asks these.
 */
const { values } = parseArgs({
  options: {
    years: { type: 'string', default: '10' },
    probes: { type: 'string', default: '2' },
    'every-s': { type: 'string', default: '60' },
    folder: { type: 'string', default: tmpdir() },
  },
});
const dayMs = 86_400_000;
const fromMs = Date.UTC(2016, 0, 1);
const toMs = fromMs + Math.round(Number(values.years) * 365.25) * dayMs;
const everyMs = Number(values['every-s']) * 1000;
const folder = mkdtempSync(join(values.folder, 'brinekeep-years-'));
const path = join(folder, 'store.db');
let nowMs = fromMs;
const clock = { nowMs: () => nowMs, monotonicMs: () => nowMs };

function opened(): Store {
  return openStore({ path, flushMs: 3_600_000, clock, flushEarlyAt: 1_000_000, bufferLimit: 1_000_000 });
}

function build(): number {
  const probes = simulatedProbes(Number(values.probes));
  const store = opened();
  let count = 0;
  for (; nowMs < toMs; nowMs += everyMs) {
    store.add(probes.map((probe) => probe.reading(nowMs)));
    count += probes.length;
    if (nowMs % (7 * dayMs) < everyMs) store.flush();
  }
  store.close();
  return count;
}

function medianMs(work: () => unknown, times = 7): string {
  const took = Array.from({ length: times }, () => {
    const start = performance.now();
    work();
    return performance.now() - start;
  }).sort((a, b) => a - b);
  return `${took[times >> 1]!.toFixed(1)} ms (first to last ${took[0]!.toFixed(1)} to ${took.at(-1)!.toFixed(1)})`;
}

/** As the chart does: the least and greatest of each of about a thousand steps. */
function plotted(summaries: readonly Summary[], stepMs: number): number {
  const steps = new Map<number, { min: number; max: number }>();
  for (const { startMs, min, max } of summaries) {
    const at = Math.floor(startMs / stepMs);
    const step = steps.get(at);
    if (step === undefined) steps.set(at, { min, max });
    else {
      step.min = Math.min(step.min, min);
      step.max = Math.max(step.max, max);
    }
  }
  return steps.size;
}

const start = performance.now();
const readings = build();
console.log(`built ${readings} readings in ${((performance.now() - start) / 1000).toFixed(0)} s`);
console.log(
  `${(statSync(path).size / 1e6).toFixed(0)} MB, ${(statSync(path).size / readings).toFixed(2)} bytes a reading with summaries`,
);
console.log(
  `opening and the newest value of a probe: ${medianMs(() => {
    const store = opened();
    const series = store.series()[0]!;
    store.latest(series);
    store.close();
  }, 5)}`,
);
const store = opened();
const series = store.series()[0]!;
for (const [name, days] of [
  ['a day', 1],
  ['a month', 30],
  ['a year', 365],
  ['all', (toMs - fromMs) / dayMs],
] as const) {
  const resolution = days > 1500 ? 'day' : days > 3 ? 'hour' : 'minute';
  const spanMs = days * dayMs;
  console.log(
    `chart of ${name}: ${medianMs(() => plotted(store.summaries(series, resolution, toMs - spanMs, toMs), spanMs / 1000))}`,
  );
}
console.log(`readings of a day: ${medianMs(() => store.readings(series, toMs - dayMs, toMs))}`);
store.close();
rmSync(folder, { recursive: true });
