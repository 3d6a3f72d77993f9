import fc from 'fast-check';
import { expect, test } from 'vitest';
import { createPacketSizeGuard } from '#adapters/broker/packet-size-guard.ts';

/** The remaining length as MQTT 3.1.1, 2.2.3 (table 2.4) writes it. */
function packet(bodyBytes: number): Buffer {
  const header = [0x30];
  let rest = bodyBytes;
  do {
    header.push((rest % 128) + (rest >= 128 ? 128 : 0));
    rest = Math.floor(rest / 128);
  } while (rest > 0);
  return Buffer.concat([Buffer.from(header), Buffer.alloc(bodyBytes, 0xff)]);
}

test('the lengths of the standard are written as its table says, so that the tests below speak MQTT', () => {
  // MQTT 3.1.1, table 2.4: the smallest and largest value of each size, from memory of the standard.
  expect([...packet(127).subarray(1, 2)]).toEqual([0x7f]);
  expect([...packet(128).subarray(1, 3)]).toEqual([0x80, 0x01]);
  expect([...packet(16_383).subarray(1, 3)]).toEqual([0xff, 0x7f]);
  expect([...packet(16_384).subarray(1, 4)]).toEqual([0x80, 0x80, 0x01]);
});

test('packets within the limit pass and the first one beyond it does not, however the bytes are cut', () => {
  const sizes = fc.array(fc.oneof(fc.nat(300), fc.constantFrom(127, 128, 1999, 2000, 2001, 16_384)), { maxLength: 12 });
  fc.assert(
    fc.property(sizes, fc.integer({ min: 1, max: 700 }), (bodies, cut) => {
      const allows = createPacketSizeGuard(2000);
      const all = Buffer.concat(bodies.map(packet));
      let isAllowed = true;
      for (let at = 0; at < all.length && isAllowed; at += cut) isAllowed = allows(all.subarray(at, at + cut));
      expect(isAllowed).toBe(bodies.every((size) => size <= 2000));
    }),
    { numRuns: 300 },
  );
});

test('a length of five bytes, which no packet has, does not pass', () => {
  expect(createPacketSizeGuard(268_435_455)(Buffer.from([0x30, 0x80, 0x80, 0x80, 0x80, 0x00]))).toBe(false);
  expect(createPacketSizeGuard(268_435_455)(Buffer.from([0x30, 0xff, 0xff, 0xff, 0x7f]))).toBe(true);
});
