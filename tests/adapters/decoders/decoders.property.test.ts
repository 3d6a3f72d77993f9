import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import type { DecodeContext, Decoding } from '#adapters/decoders/decoder.ts';
import { type DecoderName, decoders } from '#adapters/decoders/registry.ts';

/**
 * Every decoder of the registry under noise. fast-check prints the seed and the shortest failing text when one fails.
 */
const context: DecodeContext = {
  nowMs: 1_777_636_800_000,
  columns: ['t', '-', 'ph'],
  paths: [
    { channel: 'water.ph', path: 'water.ph', timePath: 'at' },
    { channel: 't', path: 't' },
    { channel: '', path: '' },
    { channel: 'n', path: '0.n' },
  ],
};
const names = Object.keys(decoders) as DecoderName[];

/** Sound texts of each format, to be damaged. */
const sound: Record<DecoderName, string> = {
  number: '25.31',
  key_value: 't=25.31 ph=8.1 ec=53.1mS/cm',
  csv: '25.31,ok,8.1',
  senml:
    '[{"bn":"tank:","bt":1.7e9,"bu":"Cel","bv":1,"n":"t","v":25.31},{"n":"ph","u":"pH","t":-5,"v":8.1},{"vs":"x"}]',
  json: '{"water":{"ph":8.1,"list":[1,2]},"t":"25.31","at":"2026-05-01T12:00:00Z"}',
};

const piece = fc.oneof(
  fc.string({ unit: 'binary', maxLength: 6 }),
  fc.constantFrom('1e999', 'NaN', '-', '=', ',', '"', '{', '[', ']', '}', 'null', '__proto__', '0x', '\0', '\n', ' '),
);
/** Replaces, inserts or removes at a random place, some times over. */
const damage = fc.array(fc.tuple(fc.nat(), fc.nat({ max: 8 }), piece), { minLength: 1, maxLength: 6 });

function damaged(text: string, cuts: [number, number, string][]): string {
  return cuts.reduce((now, [place, removed, put]) => {
    const start = place % (now.length + 1);
    return now.slice(0, start) + put + now.slice(start + removed);
  }, text);
}

function expectSound(decoding: Decoding): void {
  if (!decoding.ok) {
    expect(decoding.reason).toMatch(/^(malformed|not_finite|too_many|too_long|unknown_channel)$/);
    expect([...decoding.found].every((character) => character >= ' ')).toBe(true);
    return;
  }
  for (const { channel, value, statedMs } of decoding.values) {
    expect(Number.isFinite(value)).toBe(true);
    expect(Object.hasOwn(Object.prototype, channel)).toBe(false);
    if (statedMs !== undefined) expect(Number.isFinite(new Date(statedMs).getTime())).toBe(true);
  }
}

describe.each(names)('%s', (name) => {
  const decode = (text: string) => decoders[name](text, context);

  test('a sound text is read, so that the tests below damage something', () => {
    const decoding = decode(sound[name]);
    expect(decoding.ok && decoding.values.length).toBeGreaterThan(0);
  });

  test('noise of any kind ends nothing and gives no number that is none', () => {
    fc.assert(
      fc.property(fc.string({ unit: 'binary', maxLength: 300 }), (text) => expectSound(decode(text))),
      { numRuns: 1500 },
    );
  });

  test('a damaged text ends nothing and gives no number that is none', () => {
    fc.assert(
      fc.property(damage, (cuts) => expectSound(decode(damaged(sound[name], cuts)))),
      { numRuns: 3000 },
    );
  });

  test('any JSON document, with keys of the prototype, ends nothing', () => {
    const json = fc.json({ maxDepth: 5 }).map((text) => text.replace(/"[a-c]/g, '"__proto__'));
    fc.assert(
      fc.property(json, (text) => expectSound(decode(text))),
      { numRuns: 500 },
    );
  });

  test('it remembers nothing between two texts', () => {
    fc.assert(
      fc.property(damage, (cuts) => {
        const first = decode(sound[name]);
        decode(damaged(sound[name], cuts));
        expect(decode(sound[name])).toEqual(first);
      }),
      { numRuns: 300 },
    );
  });
});

test('every number that is printed comes back the same from every format', () => {
  const number = fc.double({ noNaN: true, noDefaultInfinity: true }).map((value) => (value === 0 ? 0 : value));
  fc.assert(
    fc.property(number, (value) => {
      const texts: Record<DecoderName, string> = {
        number: String(value),
        key_value: `t=${value}`,
        csv: `${value},x,`,
        senml: `[{"n":"t","v":${value}}]`,
        json: `{"t":${value}}`,
      };
      for (const name of names) {
        const decoding = decoders[name](texts[name], context);
        expect(decoding.ok && decoding.values[0]?.value, name).toBe(value);
      }
    }),
  );
});
