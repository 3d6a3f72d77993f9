import fc from 'fast-check';
import { expect, test } from 'vitest';
import { createPublishReader, type DirectPublish } from '#adapters/mqtt/publish-reader.ts';

function lengthBytes(length: number): number[] {
  return length < 128 ? [length] : [(length % 128) + 128, ...lengthBytes(Math.floor(length / 128))];
}

/** MQTT 3.1.1 (OASIS, 2014), 2.2. */
function packet(type: number, body: Buffer): Buffer {
  return Buffer.concat([Buffer.from([type, ...lengthBytes(body.length)]), body]);
}

type Sent = { bytes: Buffer; publish?: Omit<DirectPublish, 'payload'> & { payload: string } };

/** The same, 3.3. */
const publishes = fc
  .record({
    topic: fc.string({ unit: 'grapheme', minLength: 1, maxLength: 40 }),
    payload: fc.oneof(fc.string({ maxLength: 300 }), fc.constant('x'.repeat(20_000))),
    id: fc.integer({ min: 1, max: 65_535 }),
    qos: fc.constantFrom(0, 1),
    isRetained: fc.boolean(),
    isRepeated: fc.boolean(),
  })
  .map(({ topic, payload, id, qos, isRetained, isRepeated }): Sent => {
    const name = Buffer.from(topic);
    const head = [Buffer.from([name.length >> 8, name.length & 255]), name];
    const identifier = qos === 1 ? [Buffer.from([id >> 8, id & 255])] : [];
    const type = 0x30 + (isRepeated ? 8 : 0) + qos * 2 + (isRetained ? 1 : 0);
    const publish = { topic, payload, messageId: qos === 1 ? id : undefined, isRetained, isRepeated };
    return { bytes: packet(type, Buffer.concat([...head, ...identifier, Buffer.from(payload)])), publish };
  });

/** SUBACK and PINGRESP. */
const others = fc.constantFrom<Sent>(
  { bytes: packet(0x90, Buffer.from([0, 1, 1, 128])) },
  { bytes: packet(0xd0, Buffer.alloc(0)) },
);

const pieces = fc.array(fc.tuple(fc.integer({ min: 1, max: 2000 }), fc.boolean()), { minLength: 1, maxLength: 60 });

test('a message is lost, torn, out of order or doubled, however the stream is cut and whoever reads it', () => {
  fc.assert(
    fc.property(fc.array(fc.oneof(publishes, others), { maxLength: 25 }), pieces, (sent, cuts) => {
      const stream = Buffer.concat(sent.map(({ bytes }) => bytes));
      const taken: unknown[] = [];
      let isOpen = true;
      const reader = createPublishReader(
        () => isOpen,
        ({ payload, ...rest }) => void taken.push({ ...rest, payload: payload.toString() }),
      );
      // The library: it knows each packet that was sent, finds them whole and in order, and hands over the messages late.
      let atLibrary = Buffer.alloc(0);
      const seen: Sent[] = [];
      const library = () => {
        for (;;) {
          const next = sent.find(
            ({ bytes }) => bytes.length <= atLibrary.length && bytes.compare(atLibrary, 0, bytes.length) === 0,
          );
          if (next === undefined) return;
          atLibrary = atLibrary.subarray(next.bytes.length);
          seen.push(next);
          if (next.publish === undefined) continue;
          taken.push(next.publish);
          reader.libraryTook();
        }
      };
      for (let from = 0, turn = 0; from < stream.length; turn += 1) {
        const [size, opens] = cuts[turn % cuts.length]!;
        isOpen = opens;
        const left = reader.read(Buffer.from(stream.subarray(from, from + size)));
        from += size;
        if (left !== undefined) atLibrary = Buffer.concat([atLibrary, left]);
        if (turn % 3 === 0) library();
      }
      library();
      expect(atLibrary).toHaveLength(0);
      expect(taken).toEqual(sent.flatMap(({ publish }) => publish ?? []));
      expect(seen.filter(({ publish }) => publish === undefined)).toHaveLength(
        sent.filter(({ publish }) => publish === undefined).length,
      );
    }),
  );
});

test('a message in one piece goes through the library, or one of QoS 2 does not', () => {
  const taken: DirectPublish[] = [];
  const reader = createPublishReader(
    () => true,
    (publish) => void taken.push(publish),
  );
  const ofQos = (qos: number) => packet(0x30 + qos * 2, Buffer.from([0, 1, 0x61, 0, 7, 0x31]));
  expect(reader.read(ofQos(1))).toBeUndefined();
  expect(taken).toMatchObject([{ topic: 'a', messageId: 7 }]);
  expect(reader.read(ofQos(2))).toEqual(ofQos(2));
  // In order: the next waits for it.
  expect(reader.read(ofQos(1))).toEqual(ofQos(1));
  reader.libraryTook();
  reader.libraryTook();
  expect(reader.read(ofQos(1))).toBeUndefined();
});

test('a length of five bytes, which MQTT has not, is read as one of four', () => {
  const taken: DirectPublish[] = [];
  const reader = createPublishReader(
    () => true,
    (publish) => void taken.push(publish),
  );
  // MQTT 3.1.1, 2.2.3: the last of four bytes has no further one after it. It would be a message of topic "a" otherwise.
  const broken = Buffer.from([0x30, 0x84, 0x80, 0x80, 0x80, 0, 1, 0x61, 0x31]);
  expect(reader.read(broken)).toEqual(broken);
  expect(taken).toEqual([]);
});
