import fc from 'fast-check';
import { expect, test } from 'vitest';
import { createPacketCap } from '#adapters/mqtt/cap-packets.ts';

/** A packet as MQTT 3.1.1, 2.2, has it: a type, the length of the rest, the rest. */
function packet(type: number, body: Buffer): Buffer {
  const length: number[] = [];
  let left = body.length;
  do {
    length.push((left & 0x7f) | (left > 127 ? 0x80 : 0));
    left >>= 7;
  } while (left > 0);
  return Buffer.concat([Buffer.from([type, ...length]), body]);
}

const bodies = fc.array(
  fc.tuple(fc.integer({ min: 0x10, max: 0xff }), fc.integer({ min: 0, max: 700 }), fc.integer({ min: 0, max: 255 })),
  { maxLength: 12 },
);

test('a packet that is too long takes those behind it along, or comes whole; a short one is changed', () => {
  fc.assert(
    fc.property(bodies, fc.integer({ min: 1, max: 300 }), fc.array(fc.nat(4000)), (given, most, cuts) => {
      const sent = given.map(([type, size, fill]) => ({ type, body: Buffer.alloc(size, fill) }));
      const bytes = Buffer.concat(sent.map(({ type, body }) => packet(type, body)));
      const ends = [...new Set([...cuts.filter((cut) => cut < bytes.length), bytes.length])].sort((a, b) => a - b);
      const cap = createPacketCap(most);
      let from = 0;
      const received = ends.flatMap((end) => {
        const pieces = cap(Buffer.from(bytes.subarray(from, end)));
        from = end;
        return pieces;
      });
      const wanted = sent.map(({ type, body }) => packet(type, body.subarray(0, most)));
      expect(Buffer.concat(received).toString('hex')).toBe(Buffer.concat(wanted).toString('hex'));
    }),
  );
});

test('bytes that are no MQTT are kept from the library, which would end the connection', () => {
  const cap = createPacketCap(10);
  const noLength = Buffer.from([0x30, 0xff, 0xff, 0xff, 0xff, 0xff, 1, 2, 3]);
  expect(Buffer.concat(cap(noLength))).toEqual(noLength);
  expect(Buffer.concat(cap(Buffer.from('more')))).toEqual(Buffer.from('more'));
});
