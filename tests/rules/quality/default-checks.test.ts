import { describe, expect, test } from 'vitest';
import { defaultChecks } from '#rules/quality/default-checks.ts';
import { checkReading, emptyStreamState } from '#rules/quality/stream-check.ts';
import type { Metric } from '#rules/quantity/metric.ts';
import { metrics } from '#rules/quantity/metric.ts';

const minuteMs = 60_000;

/**
 * For each metric: what a broken probe or a wrong unit gives, what no reef lives in, and what is sound.
 * common practice, no published source
 */
const readings: Record<Metric, { broken: number[]; doubtful: number[]; sound: number[] }> = {
  // 78 is a thermometer in °F; -127 is a common sensor without its data line.
  temperature: { broken: [78, -127, -5.1], doubtful: [-5, 0, 9.9, 40.1, 60], sound: [10, 22, 25.5, 31, 40] },
  ph: { broken: [-0.1, 14.1, 177], doubtful: [0, 4, 6.4, 9.6, 14], sound: [6.5, 7.6, 8.2, 8.6, 9.5] },
  conductivity: { broken: [-1, 101, 53_000], doubtful: [0, 0.2, 4.9, 80.1], sound: [5, 45, 53, 60, 80] },
  specific_conductance_25: { broken: [-1, 101, 53_000], doubtful: [0, 4.9, 75.1], sound: [5, 48, 53, 75] },
  salinity: { broken: [-0.1, 42.1, 1026], doubtful: [0, 1, 4.9], sound: [5, 30, 35, 38] },
  specific_gravity: {
    broken: [0.97, 1.07, 26, 1026],
    doubtful: [1, 1.0019, 1.041],
    sound: [1.002, 1.02, 1.0264, 1.04],
  },
  // 144 mg/L CaCO3 and 2.9 mmol/L are 8 dKH in another unit: the first cannot be, the second can.
  alkalinity: { broken: [-0.1, 30.1, 144], doubtful: [0, 1.9, 20.1], sound: [2, 5, 8, 12, 20] },
  calcium: { broken: [-1, 1001, 4200], doubtful: [42, 199, 701], sound: [200, 380, 420, 480, 700] },
  magnesium: { broken: [-1, 3001, 13_500], doubtful: [135, 699, 2001], sound: [700, 1280, 1400, 2000] },
  nitrate: { broken: [-0.1, 501], doubtful: [201, 500], sound: [0, 5, 50, 200] },
  phosphate: { broken: [-0.01, 20.1], doubtful: [5.1, 20], sound: [0, 0.03, 0.5, 5] },
  potassium: { broken: [-1, 1501], doubtful: [39, 149, 801], sound: [150, 380, 420, 800] },
  iodide: { broken: [-1, 2001], doubtful: [501, 2000], sound: [0, 60, 500] },
  orp: { broken: [-1501, 1501], doubtful: [-301, 601, 1500], sound: [-300, 0, 350, 600] },
  level: { broken: [-10_001, 20_001], doubtful: [], sound: [-10_000, 0, 250, 20_000] },
  par: { broken: [-51, 5001], doubtful: [-11, 2501], sound: [-10, 0, 300, 2200, 2500] },
  pco2: { broken: [-1, 50_001], doubtful: [49, 10_001], sound: [50, 420, 2000, 10_000] },
  aragonite_saturation: { broken: [-0.1, 40.1], doubtful: [15.1, 40], sound: [0, 1, 3.5, 15] },
  room_co2: { broken: [-1, 100_001], doubtful: [349, 10_001], sound: [350, 420, 2000, 10_000] },
};

describe.each(metrics)('the first %s that comes', (metric) => {
  const { broken, doubtful, sound } = readings[metric];
  const first = (value: number) => checkReading(defaultChecks(metric), emptyStreamState(), value, 0);

  test('is taken for water though no water and no probe gives it', () => {
    for (const value of broken)
      expect([value, first(value)]).toEqual([value, expect.objectContaining({ flag: 'fail', raw: value })]);
  });

  test('is believed though no reef lives in it, or is doubted though reefs do', () => {
    for (const value of doubtful) expect([value, first(value).flag]).toEqual([value, 'suspect']);
    for (const value of sound) expect([value, first(value)]).toEqual([value, { flag: 'pass', value }]);
  });
});

/** A jump that water cannot make within a minute, and a change that it can. common practice, no published source */
const jumps: [Metric, from: number, jump: number, change: number][] = [
  ['temperature', 25.5, 1, 0.05],
  ['ph', 8.2, 0.5, 0.02],
  ['conductivity', 53, 3, 0.1],
  ['specific_conductance_25', 53, 3, 0.1],
  ['salinity', 35, 2, 0.05],
  ['specific_gravity', 1.0264, 0.003, 0.0001],
  ['orp', 350, 100, 10],
];

test.each(jumps)('a jump of %s at once is believed, or a sound change is doubted', (metric, from, jump, change) => {
  const calm = Array.from({ length: 10 }, () => from);
  const flags = (values: number[]) => {
    const state = emptyStreamState();
    return values.map((value, at) => checkReading(defaultChecks(metric), state, value, at * minuteMs).flag);
  };
  expect(flags([...calm, from + jump]).at(-1)).toBe('suspect');
  expect(flags([...calm, from - jump]).at(-1)).toBe('suspect');
  expect(flags([...calm, from + change]).at(-1)).toBe('pass');
});

test('a stream is called missing too early or too late', () => {
  const minutesOf = (metric: Metric) => defaultChecks(metric).gapMinutes;
  // What a person or an analyser measures comes by the day; what a probe measures by the minute.
  for (const metric of ['alkalinity', 'calcium', 'magnesium', 'nitrate', 'phosphate', 'potassium', 'iodide'] as const)
    expect([metric, minutesOf(metric)]).toEqual([metric, 2 * 24 * 60]);
  for (const metric of ['temperature', 'ph', 'conductivity', 'salinity', 'orp', 'level', 'par', 'pco2'] as const)
    expect([metric, minutesOf(metric)]).toEqual([metric, 30]);
});
