import { join } from 'node:path';
import fc from 'fast-check';
import { expect, test, vi } from 'vitest';
import type { KeptReading, Store, Summary } from '#adapters/ports/store.ts';
import { openStore } from '#adapters/sqlite/open-store.ts';
import { flags, type Reading } from '#rules/quality/reading.ts';
import { patience } from '../../servers/server-process.ts';
import { heldClock, scratchFolder } from './scratch.ts';
import { ph, temperature } from './series.ts';

// Slow on a loaded machine, and no time is asserted.
vi.setConfig({ testTimeout: 120_000 * patience(), hookTimeout: 120_000 * patience() });

const noon = Date.UTC(2026, 0, 5, 12);
const spanMs = 4 * 3_600_000;
const atMs = fc.integer({ min: 0, max: spanMs - 1 }).map((offsetMs) => noon + offsetMs);

const reading: fc.Arbitrary<Reading> = fc
  .record({
    series: fc.constantFrom(temperature, ph),
    timeMs: atMs,
    value: fc.double({ min: -1000, max: 1000, noNaN: true }),
    flag: fc.constantFrom('pass' as const, 'suspect' as const, 'fail' as const),
  })
  .map(({ series, timeMs, value, flag }) => ({
    series,
    timeMs,
    quality: flag === 'fail' ? { flag, raw: value, why: 'gross range' } : { flag, value },
  }));

const span = fc.tuple(atMs, atMs).map(([one, other]) => ({ from: Math.min(one, other), to: Math.max(one, other) }));
const correction = fc.record({
  span,
  slope: fc.double({ min: 0.5, max: 2, noNaN: true }),
  flag: fc.constantFrom('pass' as const, 'suspect' as const, 'fail' as const, undefined),
});

/** The definition, in the plainest way. */
function summariesOf(readings: readonly KeptReading[], lengthMs: number): Summary[] {
  const starts = [...new Set(readings.map(({ timeMs }) => timeMs - (timeMs % lengthMs)))];
  return starts.flatMap((startMs) => {
    const within = readings.filter(({ timeMs }) => timeMs >= startMs && timeMs < startMs + lengthMs);
    const values = within.filter(({ flag }) => flag !== 'fail').map(({ value }) => value);
    if (values.length === 0) return [];
    const worst = flags[Math.max(...within.map(({ flag }) => flags.indexOf(flag)))]!;
    const mean = values.reduce((sum, value) => sum + value, 0) / values.length;
    return [{ startMs, count: values.length, min: Math.min(...values), mean, max: Math.max(...values), worst }];
  });
}

function expectAgreement(store: Store): void {
  for (const series of [temperature, ph]) {
    const readings = store.readings(series, 0, Number.MAX_SAFE_INTEGER);
    for (const [resolution, lengthMs] of [
      ['minute', 60_000],
      ['hour', 3_600_000],
      ['day', 86_400_000],
    ] as const) {
      const found = store.summaries(series, resolution, 0, Number.MAX_SAFE_INTEGER);
      const wanted = summariesOf(readings, lengthMs);
      expect(found.map(({ mean: _, ...rest }) => rest)).toEqual(wanted.map(({ mean: _, ...rest }) => rest));
      for (const [place, { mean }] of found.entries()) expect(mean).toBeCloseTo(wanted[place]!.mean, 8);
    }
  }
}

test('after some corrections of the record a chart disagrees with its readings', {
  timeout: 60_000 * patience(),
}, () => {
  fc.assert(
    fc.property(
      fc.array(reading, { minLength: 1, maxLength: 60 }),
      fc.array(correction, { minLength: 1, maxLength: 3 }),
      fc.array(reading, { maxLength: 20 }),
      (before, corrections, after) => {
        const path = join(scratchFolder(), 'store.db');
        const open = () => openStore({ path, flushMs: 3_600_000, clock: heldClock() });
        let store = open();
        store.add(before);
        for (const {
          span: { from, to },
          slope,
          flag,
        } of corrections) {
          const expected = store
            .readings(temperature, 0, Number.MAX_SAFE_INTEGER)
            .map((kept) =>
              kept.timeMs < from || kept.timeMs >= to || flag === undefined
                ? kept
                : { ...kept, value: kept.value * slope, flag },
            );
          store.rewrite(temperature, from, to, (_timeMs, value) =>
            flag === undefined ? undefined : { value: value * slope, flag },
          );
          expect(store.readings(temperature, 0, Number.MAX_SAFE_INTEGER)).toEqual(expected);
          expectAgreement(store);
        }
        // Readings that come later join the rebuilt summaries, also through a restart.
        store.add(after);
        expectAgreement(store);
        store.close();
        store = open();
        expectAgreement(store);
        store.close();
      },
    ),
    { numRuns: 25, seed: 20260106 },
  );
});
