import { expect, test } from 'vitest';
import { gasNights } from '#hub/judgement/estimate/gas-nights.ts';
import { sourcesNow } from '#hub/judgement/estimate/sources-now.ts';
import { configSchema } from '#hub/model/config/schema.ts';
import type { Entry } from '#hub/model/journal/journal.ts';

const hourMs = 3_600_000;
const nowMs = Date.UTC(2026, 2, 20, 12);

/**
 * Carbonate system of salinity 35 at 25 °C, typed here apart from the rules: check values of Dickson, Sabine & Christian 2007, Guide to best
 * practices for ocean CO2 measurements, chapter 5 (fixtures/reference/carbonate-constants.csv); boron of Uppstrom 1974.
 */
const [k1, k2, kb, kw] = [10 ** -5.8472, 10 ** -8.966, Math.exp(-19.7964), Math.exp(-30.434)];
const boron = 415.7;
function dicOf(alkalinity: number, ph: number): number {
  const h = 10 ** -ph;
  const carbonate = alkalinity - (boron * kb) / (kb + h) - (kw / h - h) * 1e6;
  return (carbonate * (h * h + k1 * h + k1 * k2)) / (k1 * h + 2 * k1 * k2);
}

/** EOS-80 at salinity 35 and 25 °C (fixtures/reference/seawater-density.csv: 1.02334), and 0.35665 meq/L for each dKH. */
const umol = (dKH: number): number => (dKH * 0.35665 * 1000) / 1.02334;

/** Usual buffers show some 0.13 more than the total scale at salinity 35 and 25 °C: common practice, no published source. */
const nbsAboveTotal = 0.13;

const [system] = configSchema.parse({
  site: { name: 'Invented room' },
  systems: [
    {
      ...{ id: 'display', name: 'Display', volume_l: 400, bands: { alkalinity: { low: 7.5, high: 9 } } },
      stocks: [
        {
          ...{ id: 'reactor', name: 'Reactor', substance: 'calcium_reactor' },
          effluent: { alkalinity_dkh: 25, tank_alkalinity_dkh: 8, ph: 6.6 },
        },
      ],
      standing_plan: [{ stock: 'reactor', ml_per_day: 16_000, times_per_day: 48 }],
    },
  ],
}).systems;

const tested = (analyte: string, value: number) =>
  ({ kind: 'test', timeMs: nowMs - hourMs, system: 'display', body: { analyte, value } }) as unknown as Entry;

test('effluent brings its gain as bicarbonate and free gas alone, less carbon than its water holds above the tank', () => {
  const entries = [tested('alkalinity', 8), tested('ph', 8.05 + nbsAboveTotal)];
  const store = {
    series: () => [],
    latest: () => undefined,
    summaries: () => [],
    journal: (asked: { kind?: string }) => entries.filter(({ kind }) => kind === asked.kind),
  };
  const sources = sourcesNow(store as never, system!, () => 'nbs', nowMs);
  const ph = Array.from({ length: 24 }, (_, hour) => ({ timeMs: nowMs - (24 - hour - 0.5) * hourMs, value: 8.05 }));
  const water = { ph, temperature: [], room: [], salinity: 35, temperature_C: 25, alkalinity_dKH: 8 };
  const [night] = gasNights(
    system!,
    entries,
    { ...water, usePerDay_dKH: 0.68, usePerDaySd_dKH: 0.05, sources },
    { onMinute: 600, lightHours: 10 },
    (shown) => shown,
    (timeMs) => (timeMs / hourMs) % 24,
    nowMs,
  );
  // 16 L a day in 400 L, each with the carbon of effluent beyond that of the tank water which it was.
  const carbon = dicOf(umol(25), 6.6 - nbsAboveTotal) - dicOf(umol(8), 8.05);
  const expected = (carbon * 16) / 400 / 24;
  expect(night!.carbonGiven_umol_kg_h / expected).toBeGreaterThan(0.98);
  expect(night!.carbonGiven_umol_kg_h / expected).toBeLessThan(1.02);
});
