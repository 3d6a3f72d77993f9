import { describe, expect, test } from 'vitest';
import { decodeSenml } from '#adapters/decoders/senml.ts';
import { senmlPack } from '#hub/outside/outward/senml-pack.ts';
import type { Reading } from '#rules/quality/reading.ts';
import type { Metric } from '#rules/quantity/metric.ts';
import { toStoreUnit } from '#rules/quantity/unit.ts';

const timeMs = Date.UTC(2026, 6, 1, 9, 30, 0, 250);
const reading = (metric: Metric, quality: Reading['quality']): Reading => ({
  series: { system: 'display', metric, probe: 'p1' },
  timeMs,
  quality,
});

describe('a reading as SenML', () => {
  test.each([
    ['temperature', 25.31],
    ['ph', 8.14],
    ['conductivity', 53.06],
    ['salinity', 35.02],
    ['alkalinity', 8.2],
    ['orp', 331],
    ['level', 12.5],
  ] as const)('%s comes back as another number, unit or time to who reads it by the standard', (metric, value) => {
    const decoded = decodeSenml(senmlPack(reading(metric, { flag: 'pass', value })), { nowMs: timeMs + 5000 });
    if (!('values' in decoded)) throw new Error('our own decoder refuses it');
    const [found] = decoded.values;
    expect(found?.channel).toBe(`display/${metric}/p1`);
    expect(found?.statedMs).toBe(timeMs);
    const { value: number, unit } = found ?? { value: Number.NaN };
    expect(unit === undefined ? number : toStoreUnit(metric, number, unit)).toBeCloseTo(value, 8);
  });

  test('a conductivity carries a unit that the registry does not have', () => {
    // @source RFC 8428, 12.1: S/m is registered, mS/cm is not; 53.06 mS/cm = 5.306 S/m
    expect(JSON.parse(senmlPack(reading('conductivity', { flag: 'pass', value: 53.06 })))[0]).toMatchObject({
      u: 'S/m',
      v: 5.306,
    });
  });

  test('a reading that failed passes for a value', () => {
    const pack = JSON.parse(senmlPack(reading('ph', { flag: 'fail', raw: 2, why: 'x' })));
    expect(pack).toEqual([{ bn: 'display/ph/', bt: timeMs / 1000, n: 'p1/flag', vs: 'fail' }]);
  });
});
