import { readFileSync } from 'node:fs';
import { expect, test } from 'vitest';
import { createCarbonateStage } from '#hub/flow/pipeline/derive-carbonate.ts';
import { configSchema } from '#hub/model/config/schema.ts';
import type { Metric } from '#rules/quantity/metric.ts';

const config = configSchema.parse({
  site: { name: 'Invented room' },
  systems: [{ id: 'display', name: 'Display', volume_l: 400, bands: {} }],
  probes: [{ id: 'ph', system: 'display', metric: 'ph', ph_scale: 'total', mqtt: { topic: 'room/ph' } }],
});
const startMs = Date.UTC(2026, 0, 5);
const of = (metric: Metric, value: number, timeMs = startMs) =>
  ({ series: { system: 'display', metric, probe: metric }, timeMs, quality: { flag: 'pass', value } }) as const;

// fixtures/reference/carbonate-system.csv: PyCO2SYS 1.8.3.4 with the constants named in its README
const [header, ...rows] = readFileSync('fixtures/reference/carbonate-system.csv', 'utf8').trim().split('\n');
const cells = (line: string) =>
  Object.fromEntries((header ?? '').split(',').map((name, i) => [name, line.split(',')[i]]));
const row = cells(rows.find((line) => line.includes('uppstrom1974')) ?? '');

test('pCO2 and saturation through the day are not those of the water', () => {
  const salinity = Number(row['salinity']);
  const density_kg_L = Number(row['seawater_density_kg_L']);
  // µmol/kg -> dKH with the row's own density, 1 dKH = 0.3566525 meq/L (fixtures/reference/unit-conversions.csv)
  const alkalinity_dKH = (Number(row['total_alkalinity_umol_kg']) * density_kg_L) / 1000 / 0.3566525;
  const stage = createCarbonateStage(config, () => ({ alkalinity_dKH }));
  expect(stage.readingsFrom(of('temperature', Number(row['temperature_C'])))).toEqual([]);
  expect(stage.readingsFrom(of('salinity', salinity))).toEqual([]);
  const [pco2, saturation] = stage.readingsFrom(of('ph', Number(row['ph_total'])));
  // The README's outer limit for the right chemistry with other rounding: 5e-4.
  const expected = (name: string) => ({ value: expect.closeTo(Number(row[name]), name === 'pco2_uatm' ? 0 : 2) });
  expect(pco2?.quality).toMatchObject({ flag: 'pass', ...expected('pco2_uatm') });
  expect(saturation?.quality).toMatchObject({ flag: 'pass', ...expected('omega_aragonite') });
});

test('an untested or half-known water gets a pCO2 all the same', () => {
  const untested = createCarbonateStage(config, () => undefined);
  expect(untested.readingsFrom(of('ph', 8))).toEqual([]);
  const stage = createCarbonateStage(config, () => ({ alkalinity_dKH: 8 }));
  expect(stage.readingsFrom(of('ph', 8)).map(({ quality }) => quality.flag)).toEqual(['missing', 'missing']);
  stage.readingsFrom(of('temperature', 25));
  stage.readingsFrom(of('salinity', 35));
  const late = startMs + 20 * 60_000;
  expect(stage.readingsFrom(of('ph', 8, late)).map(({ quality }) => quality)).toEqual([
    { flag: 'missing', why: 'no fresh temperature of this water' },
    { flag: 'missing', why: 'no fresh temperature of this water' },
  ]);
});
