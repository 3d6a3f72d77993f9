import { deflateRawSync } from 'node:zlib';
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { packedText, unpackedText } from '#adapters/sqlite/packed-text.ts';

describe('a document, in its table', () => {
  test('a state comes back changed from the store', () => {
    fc.assert(
      fc.property(fc.json(), (text) => {
        expect(unpackedText(packedText(text))).toBe(text);
        const long = JSON.stringify(Array(1000).fill(text));
        expect(unpackedText(packedText(long))).toBe(long);
      }),
    );
  });

  test('a state that was stored as it was is no longer read', () => {
    fc.assert(
      fc.property(fc.jsonValue(), (state) => {
        const text = JSON.stringify(state);
        expect(unpackedText(text)).toBe(text);
      }),
    );
  });

  test('a state of many series is written at its full length', () => {
    const series = Array.from({ length: 50 }, (_, probe) => ({ probe, values: Array(40).fill(25.744999999999997) }));
    const text = JSON.stringify(series);
    expect(packedText(text).length).toBeLessThan(text.length / 8);
  });

  test('a damaged state is taken for a sound one', () => {
    const text = JSON.stringify({ series: Array(1000).fill(null) });
    const whole = packedText(text);
    expect(() => unpackedText(whole.slice(0, -6))).toThrow();
    // What follows the mark is raw deflate of RFC 1951, as any tool reads it.
    expect(whole.endsWith(deflateRawSync(text, { level: 1 }).toString('base64'))).toBe(true);
  });
});
