import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import fc from 'fast-check';
import { expect, test } from 'vitest';
import { openStore } from '#adapters/sqlite/open-store.ts';
import { createDayPlots } from '#hub/http/views/day-plots.ts';

const minuteMs = 60_000;
const startMs = Date.UTC(2026, 0, 5, 9);
const series = { system: 'display', metric: 'temperature', probe: 't' } as const;
const band = { low: 25, high: 26.5 };

test('a picture that was carried on differs from one that is made from nothing', () => {
  const steps = fc.array(
    fc.record({ minutes: fc.integer({ min: 1, max: 90 }), value: fc.double({ min: 20, max: 30, noNaN: true }) }),
    { minLength: 1, maxLength: 8 },
  );
  fc.assert(
    fc.property(steps, (given) => {
      const dir = mkdtempSync(join(tmpdir(), 'brinekeep-plots-'));
      let nowMs = startMs;
      const clock = { nowMs: () => nowMs, monotonicMs: () => nowMs };
      const store = openStore({ path: join(dir, 'hub.db'), flushMs: 60_000, clock, onFault: () => {} });
      try {
        const carried = createDayPlots(store);
        const reading = (timeMs: number, value: number) => ({
          series,
          timeMs,
          quality: { flag: 'pass', value } as const,
        });
        store.add(Array.from({ length: 600 }, (_, i) => reading(startMs - (600 - i) * minuteMs, 25 + (i % 9) / 10)));
        for (const { minutes, value } of given) {
          nowMs += minutes * minuteMs;
          store.add([reading(nowMs - minuteMs, value), reading(nowMs, value + 0.1)]);
          const now = carried.of(series, band, 10 * minuteMs, nowMs);
          const afresh = createDayPlots(store).of(series, band, 10 * minuteMs, nowMs);
          // The first step of the ribbon may hold minutes that are more than a day old by now.
          expect(now.day.filter(({ time }) => time > nowMs - 1430 * minuteMs)).toEqual(
            afresh.day.filter(({ time }) => time > nowMs - 1430 * minuteMs),
          );
          expect(now.outlook).toEqual(afresh.outlook);
        }
      } finally {
        store.close();
        rmSync(dir, { recursive: true, force: true });
      }
    }),
    { numRuns: 6 },
  );
});
