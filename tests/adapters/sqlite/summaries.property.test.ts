import { copyFileSync, existsSync } from 'node:fs';
import { join } from 'node:path';
import fc from 'fast-check';
import { describe, expect, it, vi } from 'vitest';
import type { Resolution, Store, Summary } from '#adapters/ports/store.ts';
import { openStore } from '#adapters/sqlite/open-store.ts';
import { type Flag, flags, type Reading, type Series } from '#rules/quality/reading.ts';
import { patience } from '../../servers/server-process.ts';
import { heldClock, scratchFolder } from './scratch.ts';
import { ph, temperature } from './series.ts';

// Slow on a loaded machine, and no time is asserted.
vi.setConfig({ testTimeout: 120_000 * patience(), hookTimeout: 120_000 * patience() });

const noon = Date.UTC(2026, 0, 5, 12);
const span = 3 * 3_600_000;
const allSeries: Series[] = [temperature, ph, { system: 'frag', metric: 'temperature', probe: 'tank_t' }];
const lengthMs: Record<Resolution, number> = { minute: 60_000, hour: 3_600_000, day: 86_400_000 };

function readingFrom(series: Series, timeMs: number, value: number, flag: Flag): Reading {
  if (flag === 'missing') return { series, timeMs, quality: { flag, why: 'gap' } };
  if (flag === 'fail') return { series, timeMs, quality: { flag, raw: value, why: 'gross range' } };
  return { series, timeMs, quality: { flag, value } };
}

const reading = fc
  .record({
    series: fc.constantFrom(...allSeries),
    // Few distinct times, so that repeats are common.
    timeMs: fc.integer({ min: 0, max: 400 }).map((step) => noon + (step * span) / 401),
    value: fc.double({ min: -1e6, max: 1e6, noNaN: true }),
    flag: fc.constantFrom(...flags),
  })
  .map(({ series, timeMs, value, flag }) => readingFrom(series, Math.floor(timeMs), value, flag));

type Step = { do: 'add'; readings: Reading[] } | { do: 'flush' | 'save' | 'reopen' | 'crash' };

const step: fc.Arbitrary<Step> = fc.oneof(
  { weight: 5, arbitrary: fc.array(reading, { maxLength: 40 }).map((readings) => ({ do: 'add' as const, readings })) },
  { weight: 3, arbitrary: fc.constant({ do: 'flush' as const }) },
  { weight: 1, arbitrary: fc.constant({ do: 'save' as const }) },
  { weight: 1, arbitrary: fc.constant({ do: 'reopen' as const }) },
  { weight: 1, arbitrary: fc.constant({ do: 'crash' as const }) },
);

const keyOf = ({ series, timeMs }: Reading) => `${series.system}/${series.metric}/${series.probe}@${timeMs}`;

/** The definition, computed in the plainest way from all readings at once. */
function recomputed(readings: Reading[], series: Series, resolution: Resolution): Summary[] {
  const intervals = new Map<number, { values: number[]; worst: number }>();
  for (const { series: of, timeMs, quality } of readings) {
    if (of.system !== series.system || of.metric !== series.metric || quality.flag === 'missing') continue;
    const startMs = timeMs - (timeMs % lengthMs[resolution]);
    const interval = intervals.get(startMs) ?? { values: [], worst: 0 };
    intervals.set(startMs, interval);
    interval.worst = Math.max(interval.worst, flags.indexOf(quality.flag));
    if (quality.flag !== 'fail') interval.values.push(quality.value);
  }
  return [...intervals]
    .filter(([, { values }]) => values.length > 0)
    .sort(([a], [b]) => a - b)
    .map(([startMs, { values, worst }]) => ({
      startMs,
      count: values.length,
      min: Math.min(...values),
      mean: values.reduce((sum, value) => sum + value, 0) / values.length,
      max: Math.max(...values),
      worst: flags[worst]!,
    }));
}

function expectSame(store: Store, readings: Reading[]): void {
  for (const series of allSeries) {
    for (const resolution of ['minute', 'hour', 'day'] as const) {
      const fromMs = noon - (noon % lengthMs[resolution]);
      const found = store.summaries(series, resolution, fromMs, noon + span);
      const wanted = recomputed(readings, series, resolution);
      expect(found.map(({ mean: _, ...rest }) => rest)).toEqual(wanted.map(({ mean: _, ...rest }) => rest));
      // Sums in another order differ in the last bits: 1e6 times 400 values leaves 1e-6 to spare.
      for (const [index, { mean }] of found.entries()) expect(mean).toBeCloseTo(wanted[index]!.mean, 6);
    }
  }
}

describe('summaries', () => {
  it('the week shows other extremes than the readings, after some order of arrival, repeats, flushes and crashes', () => {
    const folder = scratchFolder();
    let files = 0;
    const property = fc.property(fc.array(step, { maxLength: 25 }), (steps) => {
      const clock = heldClock(noon);
      let path = join(folder, `${files++}.db`);
      const open = () => openStore({ path, flushMs: 3_600_000, clock });
      let store = open();
      const onDisk = new Map<string, Reading>();
      let buffered = new Map<string, Reading>();
      const flushed = () => {
        for (const [key, one] of buffered) onDisk.set(key, one);
        buffered = new Map();
      };
      try {
        for (const one of steps) {
          if (one.do === 'add') {
            store.add(one.readings);
            for (const added of one.readings) {
              const key = keyOf(added);
              if (added.quality.flag === 'missing' || onDisk.has(key) || buffered.has(key)) continue;
              buffered.set(key, added);
            }
          } else if (one.do === 'crash') {
            // What a power cut leaves: the files as they are, without the buffer.
            const copy = join(folder, `${files++}.db`);
            for (const suffix of ['', '-wal'])
              if (existsSync(path + suffix)) copyFileSync(path + suffix, copy + suffix);
            store.close();
            path = copy;
            store = open();
            expect(store.uncleanStop).toBeDefined();
            buffered = new Map();
          } else {
            // The summaries are due when their time has passed.
            if (one.do === 'save') clock.forward(3_600_000);
            store.flush();
            flushed();
            if (one.do !== 'reopen') continue;
            store.close();
            store = open();
          }
          expectSame(store, [...onDisk.values(), ...buffered.values()]);
        }
        expectSame(store, [...onDisk.values(), ...buffered.values()]);
      } finally {
        store.close();
      }
    });
    fc.assert(property, { numRuns: 60 });
  });
});
