import { type Duplex, Transform } from 'node:stream';
import type { MqttClient } from 'mqtt';

/** Beside its payload a PUBLISH carries its topic (65,535 bytes and their count at most), its identifier, and MQTT 5 properties. */
const mostHeadBytes = 65_537 + 2 + 4096;

/**
 * Shortens packets of a stream of MQTT (3.1.1, 2.2: a type byte, then the length of the rest in one to four bytes of seven
 * bits each). What is longer than allowed gets the allowed length, and its surplus is dropped as it comes.
 *
 * Is: memory for one packet of the allowed length, whatever a broker sends. A PUBLISH keeps its topic, its identifier and
 * more of its payload than is ever read, so it is acknowledged and refused as too long like one that is a little too long.
 * Is not: a check of the rest; a packet of another type that is cut is a broken one to the library behind this.
 */
export function createPacketCap(mostBodyBytes: number): (chunk: Buffer) => Buffer[] {
  const cappedLength = lengthBytes(mostBodyBytes);
  let passing = 0;
  let dropping = 0;
  /** A header of which the end has not come yet. */
  let begun: Buffer | undefined;
  let isNoMqtt = false;

  return function cap(chunk) {
    if (isNoMqtt) return [chunk];
    const bytes = begun === undefined ? chunk : Buffer.concat([begun, chunk]);
    begun = undefined;
    const out: Buffer[] = [];
    let from = 0;
    let at = 0;
    const passOn = (to: number, next: number) => {
      if (to > from) out.push(bytes.subarray(from, to));
      from = next;
    };
    while (at < bytes.length) {
      if (passing > 0) {
        const count = Math.min(passing, bytes.length - at);
        passing -= count;
        at += count;
      } else if (dropping > 0) {
        const count = Math.min(dropping, bytes.length - at);
        dropping -= count;
        passOn(at, at + count);
        at += count;
      } else {
        // Nearly all that a probe sends: the length in one byte.
        const second = bytes[at + 1];
        if (second !== undefined && second < 0x80 && second <= mostBodyBytes) {
          passing = second;
          at += 2;
          continue;
        }
        const header = headerAt(bytes, at);
        if (header === 'no_mqtt') {
          // The library says so as well, and ends the connection.
          isNoMqtt = true;
          break;
        }
        if (header === 'not_whole') {
          begun = Buffer.from(bytes.subarray(at));
          passOn(at, bytes.length);
          return out;
        }
        if (header.length > mostBodyBytes) {
          passOn(at, header.end);
          out.push(Buffer.from([bytes[at]!, ...cappedLength]));
          dropping = header.length - mostBodyBytes;
        }
        passing = Math.min(header.length, mostBodyBytes);
        at = header.end;
      }
    }
    passOn(bytes.length, bytes.length);
    return out;
  };
}

/**
 * Lets no packet with a payload far beyond `mostPayloadBytes` be gathered by the library. To be called before it connects.
 *
 * @param read  sees what was capped first, and gives what is left of it for the library
 */
export function capPackets(
  client: MqttClient,
  mostPayloadBytes: number,
  read: (chunk: Buffer) => Buffer | undefined = (chunk) => chunk,
): void {
  const building = client as unknown as { streamBuilder(client: MqttClient): Duplex };
  const build = building.streamBuilder;
  building.streamBuilder = (own) => {
    const stream = build(own);
    const cap = createPacketCap(mostPayloadBytes + mostHeadBytes);
    const pipe = stream.pipe.bind(stream);
    // The library reads its stream by this call alone.
    stream.pipe = (to, options) => {
      const capped = new Transform({
        transform(chunk: Buffer, _encoding, done) {
          for (const piece of cap(chunk)) {
            const left = read(piece);
            if (left !== undefined) this.push(left);
          }
          done();
        },
      });
      pipe(capped);
      return capped.pipe(to, options);
    };
    return stream;
  };
}

function headerAt(bytes: Buffer, at: number): { length: number; end: number } | 'not_whole' | 'no_mqtt' {
  let length = 0;
  for (let index = 1; index <= 4; index += 1) {
    const byte = bytes[at + index];
    if (byte === undefined) return 'not_whole';
    length += (byte & 0x7f) * 128 ** (index - 1);
    if ((byte & 0x80) === 0) return { length, end: at + index + 1 };
  }
  return 'no_mqtt';
}

function lengthBytes(length: number): number[] {
  const bytes: number[] = [];
  let left = length;
  do {
    bytes.push((left % 128) + (left >= 128 ? 0x80 : 0));
    left = Math.floor(left / 128);
  } while (left > 0);
  return bytes;
}
