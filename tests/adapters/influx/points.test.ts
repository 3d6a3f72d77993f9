import { describe, expect, it } from 'vitest';
import { mirrorBatch, pointsFromReadings } from '#adapters/influx/points.ts';
import type { Reading } from '#rules/quality/reading.ts';

const noon = Date.UTC(2026, 0, 5, 12);
const reading = (more: Partial<Reading> = {}): Reading => ({
  series: { system: 'display', metric: 'temperature', probe: 'tank_t' },
  timeMs: noon,
  quality: { flag: 'pass', value: 25 },
  ...more,
});

describe('line protocol', () => {
  // Syntax and escapes: InfluxDB documentation, "Line protocol reference": measurement,tag=value field=value timestamp;
  // comma, equals sign and space escaped by a backslash in tags; a number without a trailing i is a float.
  it('the server files a reading under another probe, time or type', () => {
    expect(pointsFromReadings([reading()])).toBe(`temperature,flag=pass,probe=tank_t,system=display value=25 ${noon}`);
    const odd = { system: 'frag tank, left', metric: 'ph', probe: 'a=b' } as const;
    expect(pointsFromReadings([reading({ series: odd })])).toBe(
      `ph,flag=pass,probe=a\\=b,system=frag\\ tank\\,\\ left value=25 ${noon}`,
    );
  });

  it('one reading without a number spoils the batch', () => {
    const lines = pointsFromReadings([
      reading({ quality: { flag: 'pass', value: Number.NaN } }),
      reading({ quality: { flag: 'missing', why: 'gap' } }),
      reading({ quality: { flag: 'fail', raw: -127, why: 'gross range' } }),
    ]);
    expect(lines).toBe(`temperature,flag=fail,probe=tank_t,system=display value=-127 ${noon}`);
    expect(mirrorBatch([reading({ quality: { flag: 'missing', why: 'gap' } })])).toBeUndefined();
  });

  it('points of two hubs in one database fall on one another', () => {
    const lines = ['farm/hub-01', 'farm/hub 2'].map((hub) => pointsFromReadings([reading()], hub));
    expect(lines).toEqual([
      `temperature,flag=pass,hub=farm/hub-01,probe=tank_t,system=display value=25 ${noon}`,
      `temperature,flag=pass,hub=farm/hub\\ 2,probe=tank_t,system=display value=25 ${noon}`,
    ]);
    expect(mirrorBatch([reading()], 'farm/hub-01')?.payload).toBe(lines[0]);
  });

  it('two batches get one key and the second is thrown away', () => {
    const first = mirrorBatch([reading()]);
    expect(mirrorBatch([reading()])).toEqual(first);
    expect(mirrorBatch([reading({ timeMs: noon + 1 })])?.key).not.toBe(first?.key);
  });
});
