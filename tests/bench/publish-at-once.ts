import { connect } from 'node:net';

export type Outgoing = { topic: string; payload: string };

/** As many as a broker may be sent before it has answered the first. */
const mostOpen = 500;
const bytesOfAnswer = 4;

function lengthBytes(length: number): number[] {
  return length < 128 ? [length] : [(length % 128) + 128, ...lengthBytes(Math.floor(length / 128))];
}

function packet(type: number, body: Buffer): Buffer {
  return Buffer.concat([Buffer.from([type, ...lengthBytes(body.length)]), body]);
}

function text(words: string): Buffer {
  const bytes = Buffer.from(words, 'utf8');
  return Buffer.concat([Buffer.from([bytes.length >> 8, bytes.length & 0xff]), bytes]);
}

/** A client without a session, MQTT 3.1.1 (OASIS, 2014), 3.1. */
const hello = packet(0x10, Buffer.concat([text('MQTT'), Buffer.from([4, 2, 0, 0]), text('bench-publisher')]));

function publishPacket({ topic, payload }: Outgoing, id: number): Buffer {
  return packet(0x32, Buffer.concat([text(topic), Buffer.from([id >> 8, id & 0xff]), Buffer.from(payload)]));
}

/**
 * Publishes at QoS 1 as fast as a broker on this machine takes it: a client library takes longer over a million messages than
 * what is measured. Resolves when the broker has answered all.
 *
 * @throws  when the broker ends the connection
 */
export function publishAtOnce(port: number, messages: Iterator<Outgoing>): Promise<void> {
  return new Promise((resolve, reject) => {
    const socket = connect(port, '127.0.0.1');
    let sent = 0;
    let answered = 0;
    let isOver = false;
    // The answer to the greeting is of four bytes as those to messages are (3.2 and 3.4 of the same).
    let bytes = -bytesOfAnswer;
    function sendMore(): void {
      const packets: Buffer[] = [];
      while (!isOver && sent - answered < mostOpen) {
        const next = messages.next();
        if (next.done === true) isOver = true;
        else packets.push(publishPacket(next.value, 1 + (sent++ % 65_535)));
      }
      if (packets.length > 0) socket.write(Buffer.concat(packets));
      else if (isOver && answered === sent) socket.end();
    }
    socket.once('connect', () => socket.write(hello));
    socket.on('data', (chunk) => {
      bytes += chunk.length;
      answered = Math.max(0, Math.floor(bytes / bytesOfAnswer));
      // In few large pieces.
      if (bytes >= 0 && (sent - answered <= mostOpen / 2 || isOver)) sendMore();
    });
    socket.once('error', reject);
    socket.once('close', () => {
      if (isOver && answered === sent) resolve();
      else reject(new Error(`the broker left after ${answered} of ${sent} messages`));
    });
  });
}
