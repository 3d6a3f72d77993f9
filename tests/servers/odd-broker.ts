import { createServer, connect as dial, type Socket } from 'node:net';
import { freePort } from './free-port.ts';

/** One packet of MQTT as it lies on the wire (3.1.1, 2.2). */
export type WirePacket = { type: number; topic: string | undefined; bytes: Buffer };

export const packetTypes = { publish: 3, puback: 4, suback: 9 } as const;

export type OddBroker = {
  port: number;
  /** False: the packet of this way is swallowed; 'hang_up': both sides are cut. Replaced at any time. */
  fromClient(packet: WirePacket): boolean | 'hang_up';
  toClient(packet: WirePacket): boolean | 'hang_up';
  stop(): Promise<void>;
};

/** In front of a real broker, and as odd as it is told to be. */
export async function startOddBroker(realPort: number): Promise<OddBroker> {
  const sockets = new Set<Socket>();
  const port = await freePort();
  const odd: OddBroker = {
    port,
    fromClient: () => true,
    toClient: () => true,
    stop: () =>
      new Promise((resolve) => {
        server.close(() => resolve());
        for (const socket of sockets) socket.destroy();
      }),
  };
  const server = createServer((near) => {
    const far = dial(realPort, '127.0.0.1');
    const cut = () => {
      near.destroy();
      far.destroy();
    };
    for (const socket of [near, far]) {
      sockets.add(socket);
      socket.on('error', cut);
      socket.on('close', () => {
        sockets.delete(socket);
        cut();
      });
    }
    near.on(
      'data',
      passOn(far, cut, (packet) => odd.fromClient(packet)),
    );
    far.on(
      'data',
      passOn(near, cut, (packet) => odd.toClient(packet)),
    );
  });
  await new Promise<void>((resolve) => server.listen(port, '127.0.0.1', resolve));
  return odd;
}

function passOn(to: Socket, cut: () => void, judge: (packet: WirePacket) => boolean | 'hang_up') {
  let held = Buffer.alloc(0);
  return (chunk: Buffer): void => {
    held = Buffer.concat([held, chunk]);
    for (;;) {
      const packet = firstPacket(held);
      if (packet === undefined) return;
      held = held.subarray(packet.bytes.length);
      const verdict = judge(packet);
      if (verdict === 'hang_up') {
        cut();
        return;
      }
      if (verdict) to.write(packet.bytes);
    }
  };
}

function firstPacket(bytes: Buffer): WirePacket | undefined {
  let length = 0;
  for (let at = 1; at <= 4; at += 1) {
    const byte = bytes[at];
    if (byte === undefined) return undefined;
    length += (byte & 0x7f) * 128 ** (at - 1);
    if ((byte & 0x80) !== 0) continue;
    const end = at + 1 + length;
    if (bytes.length < end) return undefined;
    const type = bytes[0]! >> 4;
    const topic =
      type === packetTypes.publish ? bytes.toString('utf8', at + 3, at + 3 + bytes.readUInt16BE(at + 1)) : undefined;
    return { type, topic, bytes: bytes.subarray(0, end) };
  }
  throw new Error('no MQTT');
}
