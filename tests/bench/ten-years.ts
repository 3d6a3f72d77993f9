import { mkdirSync, statSync } from 'node:fs';
import { join } from 'node:path';
import { openStore } from '#adapters/sqlite/open-store.ts';
import { atMost, type BenchPart, type Measurement } from '#hub/bench/measurement.ts';
import { isoWeekAt, weekAfter } from '#hub/model/calendar/iso-week.ts';
import { simulatedProbes } from '../adapters/sqlite/simulated-probes.ts';
import { startHubOf, until200 } from './child.ts';
import { ascending, quantile } from './quantile.ts';
import { inScratch, writeConfig } from './scratch.ts';

const dayMs = 86_400_000;
const probeCount = 6;
const everyMs = 300_000;
/** About as many as a screen has columns. */
const points = 1000;

/** A record that ends now. Sparser than that of a room, so that it is made in time; its summaries are as many as in any. */
function build(path: string, years: number): { readings: number; toMs: number } {
  const toMs = Date.now();
  let nowMs = toMs - Math.round(years * 365.25) * dayMs;
  const clock = { nowMs: () => nowMs, monotonicMs: () => nowMs };
  const store = openStore({ path, flushMs: 3_600_000, clock, flushEarlyAt: 1_000_000, bufferLimit: 1_000_000 });
  const probes = simulatedProbes(probeCount);
  let readings = 0;
  for (; nowMs < toMs; nowMs += everyMs) {
    store.add(probes.map((probe) => probe.reading(nowMs)));
    readings += probes.length;
    if (nowMs % (7 * dayMs) < everyMs) store.flush();
  }
  // A hub that has run for so long has written the files of all weeks but this one.
  const lastWeek = weekAfter(isoWeekAt(toMs, 'UTC'), -1);
  store.commit({ documents: [{ name: 'last_week_written', body: lastWeek }] });
  store.close();
  return { readings, toMs };
}

function configOf(): Record<string, unknown> {
  const series = simulatedProbes(probeCount).map((probe) => probe.series);
  return {
    site: { name: 'Invented room' },
    clock: { trust: 'always' },
    keep_readings_days: 36_500,
    systems: [...new Set(series.map(({ system }) => system))].map((id) => ({
      ...{ id, name: id, volume_l: 400 },
      bands: { temperature: { low: 24, high: 27 }, ph: { low: 7.5, high: 8.8 } },
    })),
    probes: series.map(({ probe, system, metric }) => ({
      ...{ id: probe, system, metric, every_seconds: everyMs / 1000, mqtt: { topic: `probes/${probe}` } },
    })),
  };
}

async function chartMs(url: string, fromMs: number, toMs: number): Promise<number> {
  const iso = (timeMs: number) => new Date(timeMs).toISOString();
  const query = `from=${iso(fromMs)}&to=${iso(toMs)}&points=${points}&probe=probe_0`;
  const took: number[] = [];
  for (let run = 0; run < 9; run += 1) {
    const started = performance.now();
    const response = await fetch(`${url}/api/series/system_0/temperature?${query}`);
    const answer = (await response.json()) as { points: unknown[] };
    took.push(performance.now() - started);
    if (answer.points.length < 5) throw new Error(`a chart of ${answer.points.length} points`);
  }
  return quantile(ascending(took), 0.5);
}

export const tenYearsPart: BenchPart = {
  name: 'ten-years',
  measure: (isQuick) =>
    inScratch(async (dir): Promise<Measurement[]> => {
      const years = isQuick ? 0.02 : 10;
      const path = join(dir, 'data', 'brinekeep.db');
      mkdirSync(join(dir, 'data'));
      const { readings, toMs } = build(path, years);
      const of = `${years} years, ${probeCount} probes each 5 minutes`;
      const hub = await startHubOf(writeConfig(dir, configOf()));
      const base = hub.url.replace(/\/$/, '');
      try {
        await until200(`${base}/`);
        const pageMs = performance.now() - hub.startedAtMs;
        await until200(`${base}/api/room`);
        const roomMs = performance.now() - hub.startedAtMs;
        const lines: Measurement[] = [
          {
            name: 'from the start of the process to the page and the room',
            ...{ figure: roomMs, unit: 'ms', aim: atMost(roomMs, 2000, 'ms') },
            remark: `page ${pageMs.toFixed(0)} ms; ${of}, ${readings} readings, ${(statSync(path).size / 1e6).toFixed(0)} MB`,
          },
        ];
        for (const [span, days] of [
          ['a day', 1],
          ['a month', 30],
          ['a year', 365],
          ['ten years', years * 365.25],
        ] as const) {
          const ms = await chartMs(base, toMs - days * dayMs, toMs);
          const remark = `${points} points over HTTP`;
          lines.push({ name: `chart of ${span}`, figure: ms, unit: 'ms', aim: atMost(ms, 50, 'ms'), remark });
        }
        return lines;
      } finally {
        await hub.stop();
      }
    }),
};
