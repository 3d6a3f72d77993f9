import { join } from 'node:path';
import Database from 'better-sqlite3';
import { pointsFromReadings } from '#adapters/influx/points.ts';
import type { Store } from '#adapters/ports/store.ts';
import { openStore } from '#adapters/sqlite/open-store.ts';
import { atLeast, atMost, type BenchPart, type Measurement } from '#hub/bench/measurement.ts';
import { plotOf } from '#hub/http/views/plot.ts';
import type { Reading } from '#rules/quality/reading.ts';
import { simulatedProbes } from '../adapters/sqlite/simulated-probes.ts';
import { startVictoriaMetrics, type VictoriaMetrics } from '../servers/victoria-metrics.ts';
import { ascending, quantile } from './quantile.ts';
import { inScratch, missing } from './scratch.ts';

const startMs = Date.UTC(2026, 0, 5);
const probeCount = 3;
const hourMs = 3_600_000;

type Kept = { count: number; rawBytes: number; allBytes: number; readings: Reading[]; chartMs: number };

function medianMs(work: () => unknown): number {
  const took = Array.from({ length: 9 }, () => {
    const started = performance.now();
    work();
    return performance.now() - started;
  });
  return quantile(ascending(took), 0.5);
}

/** Noisy probes, flushed every ten seconds of theirs, for so many hours. */
function keep(path: string, hours: number, everyMs: number): Kept {
  const endMs = startMs + hours * hourMs;
  let nowMs = startMs;
  const clock = { nowMs: () => nowMs, monotonicMs: () => nowMs };
  const open = (): Store => openStore({ path, flushMs: hourMs, clock });
  const store = open();
  const readings: Reading[] = [];
  const probes = simulatedProbes(probeCount);
  // Ten minutes more, so that the last of these hours are packed.
  for (; nowMs < endMs + 600_000; nowMs += everyMs) {
    const round = probes.map((probe) => probe.reading(nowMs));
    store.add(round);
    if (nowMs < endMs) for (const reading of round) readings.push(reading);
    if (nowMs % 10_000 < everyMs) store.flush();
  }
  const dayMs = Math.min(hours, 24) * hourMs;
  const chartMs = medianMs(() =>
    plotOf(store.summaries(probes[0]!.series, 'minute', endMs - dayMs, endMs), dayMs / 1000),
  );
  store.close();
  const db = new Database(path, { readonly: true });
  const raw = db.prepare('SELECT sum(length(body)) AS bytes, sum(count) AS count FROM blocks WHERE kind = 0').get() as {
    bytes: number;
    count: number;
  };
  const [pages, free, pageBytes] = ['page_count', 'freelist_count', 'page_size'].map(
    (name) => db.pragma(name, { simple: true }) as number,
  ) as [number, number, number];
  db.close();
  return {
    ...{ count: readings.length, readings, chartMs },
    rawBytes: raw.bytes / raw.count,
    allBytes: ((pages - free) * pageBytes) / readings.length,
  };
}

/** The chart of a day from a plain table with a row for each reading. */
function chartOfRowsMs(path: string, readings: readonly Reading[], hours: number): number {
  const db = new Database(path);
  db.exec('CREATE TABLE readings (series INTEGER, time INTEGER, value REAL, PRIMARY KEY (series, time)) WITHOUT ROWID');
  const insert = db.prepare('INSERT OR IGNORE INTO readings VALUES (?, ?, ?)');
  db.transaction(() => {
    readings.forEach(({ timeMs, quality }, index) => {
      if ('value' in quality) insert.run(index % probeCount, timeMs, quality.value);
    });
  })();
  const dayMs = Math.min(hours, 24) * hourMs;
  const endMs = startMs + hours * hourMs;
  const chart = db.prepare(
    'SELECT time / ? AS step, min(value), max(value) FROM readings WHERE series = 0 AND time >= ? AND time < ? GROUP BY step',
  );
  const tookMs = medianMs(() => chart.all(dayMs / 1000, endMs - dayMs, endMs));
  db.close();
  return tookMs;
}

async function sizeIn(victoria: VictoriaMetrics, readings: readonly Reading[]): Promise<{ raw: number; all: number }> {
  for (let from = 0; from < readings.length; from += 5000) {
    const response = await fetch(`${victoria.url}/write?precision=ms`, {
      method: 'POST',
      body: pointsFromReadings(readings.slice(from, from + 5000)),
    });
    if (!response.ok) throw new Error(`VictoriaMetrics answered ${response.status}: ${await response.text()}`);
  }
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
  let raw = -1;
  for (let same = 0; same < 3; ) {
    await new Promise((resolve) => setTimeout(resolve, 500));
    const now = await sizeOf(/storage/);
    same = now === raw ? same + 1 : 0;
    raw = now;
  }
  return { raw: raw / readings.length, all: (await sizeOf(/./)) / readings.length };
}

async function besideVictoria(kept: Kept): Promise<Measurement[]> {
  const why = missing('victoria-metrics');
  if (why !== undefined) return [{ name: 'a raw reading in VictoriaMetrics', notMeasured: why }];
  const victoria = await startVictoriaMetrics();
  try {
    const size = await sizeIn(victoria, kept.readings);
    return [
      {
        name: 'a raw reading in VictoriaMetrics, merged',
        ...{ figure: size.raw, unit: 'bytes', ratio: size.raw / kept.rawBytes, beside: 'that in the store' },
        remark: `${size.all.toFixed(2)} bytes with its index`,
      },
    ];
  } finally {
    await victoria.stop();
  }
}

export const storagePart: BenchPart = {
  name: 'storage',
  measure: (isQuick) =>
    inScratch(async (dir) => {
      const hours = isQuick ? 5 : 48;
      const kept = keep(join(dir, 'store.db'), hours, isQuick ? 10_000 : 1000);
      const rowsMs = chartOfRowsMs(join(dir, 'rows.db'), kept.readings, hours);
      return [
        {
          name: `a raw reading in the store, noisy probes, ${kept.count} readings`,
          ...{ figure: kept.rawBytes, unit: 'bytes' },
          aim: atMost(kept.rawBytes, 2, 'bytes'),
          remark: `${kept.allBytes.toFixed(2)} bytes of all pages, with summaries`,
        },
        ...(await besideVictoria(kept)),
        {
          name: 'the chart of a day from the store',
          ...{ figure: 1000 / kept.chartMs, unit: 'charts/s' },
          ...{ ratio: rowsMs / kept.chartMs, beside: 'the same from a plain table of rows' },
          aim: atLeast(rowsMs / kept.chartMs, 1, 'of it'),
        },
      ];
    }),
};
