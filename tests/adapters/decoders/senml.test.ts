import { describe, expect, test } from 'vitest';
import { decodeSenml } from '#adapters/decoders/senml.ts';

/**
 * The packs of RFC 8428 (August 2018), sections 5.1.1 to 5.1.5, and the resolved form of 5.1.4, written down from memory
 * of the standard; the times are 2010-06-08T18:01:16.001Z and 2011-10-31T13:24:24Z.
 */
const nowMs = Date.parse('2026-05-01T12:00:00Z');
const decode = (pack: unknown) => decodeSenml(JSON.stringify(pack), { nowMs });

describe('the examples of RFC 8428', () => {
  test('5.1.1: a single data point keeps its name, unit and value, and no time is invented', () => {
    expect(decode([{ n: 'urn:dev:ow:10e2073a01080063', u: 'Cel', v: 23.1 }])).toEqual({
      ok: true,
      values: [{ channel: 'urn:dev:ow:10e2073a01080063', unit: 'Cel', value: 23.1 }],
      setAside: [],
      ignoredRecords: 0,
    });
  });

  test('5.1.2 and 5.1.4: base name, time and unit run through the pack until a record has its own', () => {
    const decoded = decode([
      {
        bn: 'urn:dev:ow:10e2073a0108006:',
        bt: 1.276020076001e9,
        bu: 'A',
        bver: 5,
        n: 'voltage',
        u: 'V',
        v: 120.1,
      },
      { n: 'current', t: -5, v: 1.2 },
      { n: 'current', t: -4, v: 1.3 },
      { n: 'current', t: -3, v: 1.4 },
      { n: 'current', t: -2, v: 1.5 },
      { n: 'current', t: -1, v: 1.6 },
      { n: 'current', v: 1.7 },
    ]);
    const resolved = [
      ['voltage', 'V', 1276020076001, 120.1],
      ['current', 'A', 1276020071001, 1.2],
      ['current', 'A', 1276020072001, 1.3],
      ['current', 'A', 1276020073001, 1.4],
      ['current', 'A', 1276020074001, 1.5],
      ['current', 'A', 1276020075001, 1.6],
      ['current', 'A', 1276020076001, 1.7],
    ] as const;
    expect(decoded).toMatchObject({
      ok: true,
      values: resolved.map(([name, unit, statedMs, value]) => ({
        channel: `urn:dev:ow:10e2073a0108006:${name}`,
        unit,
        statedMs,
        value,
      })),
    });
  });

  test('5.1.3: records without a name of their own are named by the base name alone', () => {
    const decoded = decode([
      { bn: 'urn:dev:ow:10e2073a01080063', bt: 1.320067464e9, bu: '%RH', v: 20 },
      { u: 'lon', v: 24.30621 },
      { t: 60, v: 20.3 },
    ]);
    expect(decoded).toMatchObject({
      ok: true,
      values: [
        { channel: 'urn:dev:ow:10e2073a01080063', unit: '%RH', value: 20, statedMs: 1320067464000 },
        { unit: 'lon', value: 24.30621, statedMs: 1320067464000 },
        { unit: '%RH', value: 20.3, statedMs: 1320067524000 },
      ],
    });
  });

  test('5.1.5: a label, a switch and a tag are counted as ignored, and the temperature beside them is kept', () => {
    const decoded = decode([
      { bn: 'urn:dev:ow:10e2073a01080063:', n: 'temp', u: 'Cel', v: 23.1 },
      { n: 'label', vs: 'Machine Room' },
      { n: 'open', vb: false },
      { n: 'nfc-reader', vd: 'aGkgCg' },
    ]);
    expect(decoded).toMatchObject({
      ok: true,
      values: [{ channel: 'urn:dev:ow:10e2073a01080063:temp', value: 23.1 }],
      ignoredRecords: 3,
    });
  });
});

describe('resolving', () => {
  test('a time below 2^28 s counts from now, so a reading of a minute ago is not dated 1970', () => {
    expect(decode([{ n: 't', t: -60, v: 25 }])).toMatchObject({ values: [{ statedMs: nowMs - 60_000 }] });
    expect(decode([{ n: 't', t: 2 ** 28 - 1, v: 25 }])).toMatchObject({
      values: [{ statedMs: nowMs + (2 ** 28 - 1) * 1000 }],
    });
    expect(decode([{ n: 't', t: 2 ** 28, v: 25 }])).toMatchObject({ values: [{ statedMs: 2 ** 28 * 1000 }] });
  });

  test('the base value is added to every value, and a later base value takes its place', () => {
    const decoded = decode([{ bn: 'p', bv: 20, v: 5.3 }, { v: 5.4 }, { bv: 0, v: 25.5 }]);
    expect(decoded).toMatchObject({ values: [{ value: 25.3 }, { value: 25.4 }, { value: 25.5 }] });
  });

  test('a sum is no reading: it is ignored, and a base sum changes no value', () => {
    expect(decode([{ bn: 'flow', bs: 1000, s: 5 }, { v: 2 }])).toMatchObject({
      values: [{ channel: 'flow', value: 2 }],
      ignoredRecords: 1,
    });
  });

  test('unknown fields do no harm', () => {
    expect(decode([{ n: 't', v: 25, battery: 'low' }])).toMatchObject({ values: [{ channel: 't', value: 25 }] });
  });
});

test.each<[string, unknown]>([
  ['a pack that is an object', { n: 't', v: 25 }],
  ['an empty pack', []],
  ['a record that is a number', [25]],
  ['a value in quotes', [{ n: 't', v: '25' }]],
  ['a value of null', [{ n: 't', v: null }]],
  ['a value that is a switch', [{ n: 't', v: true }]],
  ['two value fields', [{ n: 't', v: 25, vs: 'warm' }]],
  ['no name at all', [{ v: 25 }]],
  ['a name with a blank', [{ n: 'display tank', v: 25 }]],
  ['a name that starts with _', [{ n: '__proto__', v: 25 }]],
  ['the name of a key that every object has', [{ n: 'constructor', v: 25 }]],
  ['a time in quotes', [{ n: 't', t: '-5', v: 25 }]],
  ['a unit that is a number', [{ n: 't', u: 1, v: 25 }]],
  ['a later version of the standard (4.4)', [{ bn: 't', bver: 11, v: 25 }]],
  ['a field that must be understood (4.4)', [{ n: 't', v: 25, scale_: 'F' }]],
])('%s refuses the whole pack, the good record before it included', (_fault, pack) => {
  const packs = Array.isArray(pack) && pack.length > 0 ? [{ n: 'good', v: 1 }, ...pack] : pack;
  expect(decode(packs)).toMatchObject({ ok: false, reason: 'malformed' });
});

test('a number that no double can hold refuses the pack instead of becoming infinite', () => {
  expect(decodeSenml('[{"n":"t","v":1e999}]', { nowMs })).toMatchObject({ ok: false, reason: 'not_finite' });
  expect(decodeSenml('[{"n":"t","bv":1e308,"v":1e308}]', { nowMs })).toMatchObject({ ok: false, reason: 'not_finite' });
});

test('a pack of thousands of records is refused, not half used', () => {
  const pack = Array.from({ length: 1001 }, (_, index) => ({ n: `p${index}`, v: index }));
  expect(decode(pack)).toMatchObject({ ok: false, reason: 'too_many' });
});

test('a pack nested without end is refused before it is parsed', () => {
  expect(decodeSenml('['.repeat(100_000), { nowMs })).toMatchObject({ ok: false, reason: 'malformed' });
});
