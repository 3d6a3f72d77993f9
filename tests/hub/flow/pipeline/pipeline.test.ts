import { expect, test } from 'vitest';
import type { Observation } from '#adapters/ports/observation.ts';
import { bindProbes } from '#hub/flow/pipeline/bound-probe.ts';
import { createCarbonateStage } from '#hub/flow/pipeline/derive-carbonate.ts';
import { createPipeline } from '#hub/flow/pipeline/pipeline.ts';
import { configSchema } from '#hub/model/config/schema.ts';
import type { Reading } from '#rules/quality/reading.ts';

const config = configSchema.parse({
  site: { name: 'Invented room' },
  systems: [{ id: 'display', name: 'Display', volume_l: 400, bands: {} }],
  serial: [{ id: 'sump', path: '/dev/null', format: 'key_value' }],
  probes: [
    {
      id: 't',
      system: 'display',
      metric: 'temperature',
      serial: { port: 'sump', channel: 't' },
      calibration: { offset: -0.1 },
    },
    { id: 'f', system: 'display', metric: 'temperature', mqtt: { topic: 'room/f' }, unit: '°F' },
    {
      id: 'ec',
      system: 'display',
      metric: 'conductivity',
      serial: { port: 'sump', channel: 'ec' },
      temperature_probe: 't',
    },
    {
      id: 'ec25',
      system: 'display',
      metric: 'specific_conductance_25',
      serial: { port: 'sump', channel: 'ec25' },
      temperature_probe: 't',
      compensation_percent_per_C: 1.9,
    },
  ],
});

const startMs = Date.UTC(2026, 0, 5);

function room() {
  const kept: Reading[] = [];
  const watched: Reading[] = [];
  const pipeline = createPipeline(
    bindProbes(config),
    createCarbonateStage(config, () => undefined),
    {
      keep: (readings) => kept.push(...readings),
      watch: (readings) => watched.push(...readings),
      show: () => {},
    },
  );
  const send = (source: string, channel: string, value: number, atMs: number, more: Partial<Observation> = {}) =>
    pipeline.accept([{ source, channel, value, receivedMs: atMs, ...more }], atMs);
  const last = (metric: string, probe: string) =>
    kept.findLast((reading) => reading.series.metric === metric && reading.series.probe === probe)?.quality;
  return { kept, watched, pipeline, send, last };
}

test('a raw conductivity becomes a wrong salinity', () => {
  const { send, last } = room();
  // The probe reads 0.1 °C high and is corrected; 25 °C and 53.071 mS/cm is S = 35 (see the row below).
  send('serial:sump', 't', 25.1, startMs);
  send('serial:sump', 'ec', 53.07103205, startMs + 1000);
  // UNESCO 44 / GSW: conductivity of S = 35 water at 25 °C, row seawater_S35 of fixtures/reference/conductivity-standards.csv
  expect(last('salinity', 'ec')).toMatchObject({ value: expect.closeTo(35, 4) });
  // sg_25_25 of S = 35: 1.026373, fixtures/reference/seawater-density.csv
  expect(last('specific_gravity', 'ec')).toMatchObject({ value: expect.closeTo(1.026373, 5) });
});

test('a display referred to 25 °C is taken for raw conductivity', () => {
  const { send, last } = room();
  send('serial:sump', 't', 15.1, startMs);
  // fixtures/reference/specific-conductance.csv: S = 10 at 15 °C, alpha 1.9, displays 16.9172777395 mS/cm
  send('serial:sump', 'ec25', 16.9172777395, startMs + 1000);
  expect(last('salinity', 'ec25')).toMatchObject({ value: expect.closeTo(10, 6) });
});

test('a stale partner temperature gives a wrong salinity instead of none', () => {
  const { send, last } = room();
  send('serial:sump', 'ec', 53, startMs);
  expect(last('salinity', 'ec')).toEqual({ flag: 'missing', why: 'no temperature from t so far' });
  send('serial:sump', 't', 25.1, startMs);
  send('serial:sump', 'ec', 53, startMs + 120_000);
  expect(last('salinity', 'ec')).toMatchObject({ value: expect.any(Number) });
  send('serial:sump', 'ec', 53, startMs + 121_000);
  expect(last('salinity', 'ec')).toEqual({
    flag: 'missing',
    why: 'the temperature from t is 121 s old, allowed 120 s',
  });
});

test('a probe in degrees Fahrenheit is stored as if it were Celsius', () => {
  const { send, last } = room();
  send('mqtt:room/f', '', 77, startMs);
  expect(last('temperature', 'f')).toMatchObject({ value: expect.closeTo(25, 9) });
  send('mqtt:room/f', '', 298.15, startMs + 1000, { unit: 'K' });
  expect(last('temperature', 'f')).toMatchObject({ value: expect.closeTo(25, 9) });
});

test('a unit that the metric cannot have is taken for its own', () => {
  const { send, pipeline, kept } = room();
  send('serial:sump', 't', 25, startMs, { unit: 'mS/cm' });
  expect(kept).toEqual([]);
  expect(pipeline.counts.wrong_unit).toBe(1);
});

test('a retained message makes a dead probe look alive', () => {
  const { send, pipeline, kept, watched } = room();
  send('mqtt:room/f', '', 77, startMs, { isRetained: true });
  expect(kept).toEqual([]);
  expect(pipeline.counts.no_usable_time).toBe(1);
  send('mqtt:room/f', '', 77, startMs, { isRetained: true, statedMs: startMs - 3_600_000 });
  expect(kept.map((reading) => reading.timeMs)).toEqual([startMs - 3_600_000]);
  expect(watched).toEqual([]);
});

test('a reading dated tomorrow hides all until then', () => {
  const { send, pipeline, kept } = room();
  send('serial:sump', 't', 25, startMs, { statedMs: startMs + 86_400_000 });
  expect(kept).toEqual([]);
  expect(pipeline.counts.no_usable_time).toBe(1);
});

test('a probe that shorted out gives a salinity, or a number where there is none', () => {
  const { send, last } = room();
  send('serial:sump', 't', 25, startMs);
  send('serial:sump', 'ec', 0, startMs + 1000);
  expect(last('salinity', 'ec')?.flag).toBe('missing');
});
