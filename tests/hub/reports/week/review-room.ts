import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import type { JournalEntry, Store } from '#adapters/ports/store.ts';
import { openStore } from '#adapters/sqlite/open-store.ts';
import { loadConfig } from '#hub/model/config/load.ts';
import type { Config } from '#hub/model/config/schema.ts';
import type { AlarmEvent } from '#rules/bands/alarm-event.ts';
import type { Reading } from '#rules/quality/reading.ts';
import type { Metric } from '#rules/quantity/metric.ts';
import { createManualClock } from '../../../adapters/clock/manual-clock.ts';

/** An invented room with one tank; `name` is that of the tank. */
export function reviewRoom(name = 'Display tank'): Config {
  const systems = [
    {
      ...{ id: 'display', name, volume_l: 400 },
      bands: {
        temperature: { low: 25, high: 26.5, most_per_day: 1, most_per_hour: 0.5 },
        alkalinity: { low: 7.5, high: 9 },
      },
      stocks: [
        {
          ...{ id: 'soda', name: `Soda of ${name}`.slice(0, 80), substance: 'own_strength', raises: 'alkalinity' },
          ...{ raises_100_l_by_per_ml: 0.1, container_ml: 1000 },
        },
      ],
      standing_plan: [{ stock: 'soda', ml_per_day: 40 }],
      test_every_days: { alkalinity: 2 },
    },
  ];
  const probes = [
    { id: 't1', system: 'display', metric: 'temperature', mqtt: { topic: 't1' } },
    { id: 'ph1', system: 'display', metric: 'ph', mqtt: { topic: 'ph1' } },
  ];
  const site = { name: 'Fish room (invented)', timezone: 'Europe/Lisbon' };
  const text = Object.entries({ site, systems, probes }).map(([key, block]) => `${key}: ${JSON.stringify(block)}`);
  const loaded = loadConfig(text.join('\n'), 'room.yaml', {}, () => '');
  if (!loaded.ok) throw new Error(loaded.problems.map((problem) => problem.text).join('\n'));
  return loaded.config;
}

export type OpenedStore = { store: Store; path: string; folder: string; remove(): void };

export function emptyStore(nowMs: number): OpenedStore {
  const folder = mkdtempSync(join(tmpdir(), 'review-test-'));
  const path = join(folder, 'room.db');
  const store = openStore({ path, flushMs: 60_000, clock: createManualClock(nowMs) });
  return {
    ...{ store, path, folder },
    remove() {
      store.close();
      rmSync(folder, { recursive: true, force: true });
    },
  };
}

/** A reading every ten minutes of [fromMs, toMs); where the value is undefined the probe is silent. */
export function everyTenMinutes(
  probe: string,
  metric: Metric,
  fromMs: number,
  toMs: number,
  valueAt: (timeMs: number) => number | undefined,
): Reading[] {
  const readings: Reading[] = [];
  for (let timeMs = fromMs; timeMs < toMs; timeMs += 600_000) {
    const value = valueAt(timeMs);
    if (value === undefined) continue;
    readings.push({ series: { system: 'display', metric, probe }, timeMs, quality: { flag: 'pass', value } });
  }
  return readings;
}

export function entry(kind: JournalEntry['kind'], timeMs: number, body: Record<string, unknown>): JournalEntry {
  return { kind, timeMs, recordedMs: timeMs, system: 'display', body };
}

let occurrence = 0;

export function alarm(
  id: string,
  state: AlarmEvent['state'],
  timeMs: number,
  more: Partial<AlarmEvent> = {},
): JournalEntry {
  occurrence += 1;
  const [, metric = '', rule = ''] = id.split('/');
  const message = `${metric}: an invented alarm`;
  return entry('alarm', timeMs, {
    ...{ timeMs, alarm: id, occurrence, state, system: 'display', metric, rule, priority: 'high', message },
    ...more,
  });
}
