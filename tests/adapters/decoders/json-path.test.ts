import { describe, expect, test } from 'vitest';
import { decodeJsonPaths } from '#adapters/decoders/json-path.ts';
import { statedTimeMs } from '#adapters/decoders/stated-time.ts';

const at = (document: unknown, ...paths: { path: string; timePath?: string }[]) =>
  decodeJsonPaths(JSON.stringify(document), {
    nowMs: 0,
    paths: paths.map((wanted) => ({ channel: wanted.path, ...wanted })),
  });

describe('values by their path', () => {
  test('several probes in one document are all found', () => {
    const document = { water: { ph: 8.12, t: '25.31' }, tanks: [{ level: 31 }] };
    expect(at(document, { path: 'water.ph' }, { path: 'water.t' }, { path: 'tanks.0.level' })).toMatchObject({
      ok: true,
      values: [
        { channel: 'water.ph', value: 8.12 },
        { channel: 'water.t', value: 25.31 },
        { channel: 'tanks.0.level', value: 31 },
      ],
    });
  });

  test('the empty path is the whole document', () => {
    expect(at(8.1, { path: '' })).toMatchObject({ ok: true, values: [{ channel: '', value: 8.1 }] });
  });

  test('a device that sends only what changed does not lose it', () => {
    expect(at({ ph: 8.1 }, { path: 'ph' }, { path: 't' })).toMatchObject({ ok: true, values: [{ channel: 'ph' }] });
  });

  test.each([[{ ph: null }], [{ ph: 'high' }], [{ ph: true }], [{ ph: {} }], [{ ph: '' }]])(
    '%j gives no number',
    (document) => {
      expect(at(document, { path: 'ph' })).toMatchObject({ ok: false, reason: 'malformed' });
    },
  );

  test.each(['constructor.length', '__proto__', 'toString.length', 'ph.toFixed.length', 'list.length', 'nothing'])(
    'the path %s finds nothing that the payload did not spell',
    (path) => {
      expect(at({ ph: 8.1, list: [1, 2] }, { path })).toMatchObject({ ok: false, reason: 'unknown_channel' });
    },
  );

  test('text that is no JSON, and a number that no double holds, are refused', () => {
    const context = { nowMs: 0, paths: [{ channel: 'ph', path: 'ph' }] };
    expect(decodeJsonPaths('{"ph": 8.1', context)).toMatchObject({ ok: false, reason: 'malformed' });
    expect(decodeJsonPaths('{"ph": 1e999}', context)).toMatchObject({ ok: false, reason: 'not_finite' });
    expect(decodeJsonPaths(`{"ph": "${'x'.repeat(300_000)}"}`, context)).toMatchObject({ reason: 'too_long' });
  });
});

describe('the payload’s own time', () => {
  const ms = Date.parse('2026-05-01T12:00:00Z');

  test.each<[unknown, number]>([
    ['2026-05-01T12:00:00Z', ms],
    ['2026-05-01T13:00:00.250+01:00', ms + 250],
    ['2026-05-01T17:30+0530', ms],
    [ms / 1000, ms],
    [ms / 1000 + 0.5, ms + 500],
    [ms, ms],
    [String(ms / 1000), ms],
  ])('%j is read', (stated, expected) => {
    expect(at({ ph: 8.1, at: stated }, { path: 'ph', timePath: 'at' })).toMatchObject({
      values: [{ value: 8.1, statedMs: expected }],
    });
  });

  test.each<[unknown]>([
    ['2026-05-01T12:00:00'],
    ['2026-05-01'],
    ['yesterday'],
    ['2026-13-01T12:00:00Z'],
    [12],
    [-1],
    [1e300],
    [true],
  ])('a value whose time is %j does not look fresh', (stated) => {
    expect(at({ ph: 8.1, at: stated }, { path: 'ph', timePath: 'at' })).toMatchObject({ ok: false });
  });

  test('a payload without its time keeps its value', () => {
    expect(at({ ph: 8.1 }, { path: 'ph', timePath: 'at' })).toMatchObject({ values: [{ value: 8.1 }] });
  });

  test('the largest time that a date can hold is the limit', () => {
    expect(statedTimeMs(8.64e15)).toBe(8.64e15);
    expect(statedTimeMs(8.64e15 + 2)).toBeUndefined();
  });
});
