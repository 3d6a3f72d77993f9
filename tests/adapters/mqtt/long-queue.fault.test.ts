import { createServer, type Socket } from 'node:net';
import { afterEach, expect, test, vi } from 'vitest';
import { patience, waitUntil } from '../../servers/server-process.ts';
import { createRoom, dated } from './mqtt-bench.ts';

vi.setConfig({ testTimeout: 60_000 * patience(), hookTimeout: 60_000 * patience() });

const { hub, cleanups, cleanUp } = createRoom();
afterEach(cleanUp);

/** PUBLISH at QoS 1 (MQTT 3.1.1, 3.3). */
function publishPacket(id: number): Buffer {
  const [topic, payload] = dated('8.1');
  const body = Buffer.concat([
    Buffer.from([0, topic.length]),
    Buffer.from(topic),
    Buffer.from([id >> 8, id & 0xff]),
    Buffer.from(payload),
  ]);
  return Buffer.concat([Buffer.from([0x32, body.length]), body]);
}

/** Knows the client from before, and answers a subscription only after so many messages, one each 20 ms. */
function takesItsTime(socket: Socket, messages: number): void {
  const asked: Buffer[] = [];
  let sent = 0;
  const timer = setInterval(() => {
    if (sent < messages) {
      sent += 1;
      socket.write(publishPacket(sent));
      return;
    }
    for (const packet of asked.splice(0)) {
      // SUBACK (3.9): the identifier that came, and for each filter that QoS 1 is granted.
      const answer = [0x90, 2 + 4, packet[2]!, packet[3]!, 1, 1, 1, 1];
      socket.write(Buffer.from(answer));
    }
  }, 20);
  socket.on('close', () => clearInterval(timer));
  socket.on('data', (packet) => {
    const type = packet[0]! >> 4;
    // CONNACK with a session that is present (3.2).
    if (type === 1) socket.write(Buffer.from([0x20, 2, 1, 0]));
    if (type === 8) asked.push(packet);
  });
  socket.on('error', () => undefined);
}

test('a broker with an hour of messages to bring first is not left as one that answers no subscription', async () => {
  const sockets: Socket[] = [];
  const server = createServer((socket) => {
    sockets.push(socket);
    takesItsTime(socket, 300);
  });
  await new Promise<void>((resolve) => server.listen(0, '127.0.0.1', resolve));
  cleanups.push(() => {
    for (const socket of sockets) socket.destroy();
    server.close();
  });
  const { port } = server.address() as { port: number };
  const bench = hub(port, { subscribeTimeoutMs: 2000, commandTopics: [] });
  await bench.edge.start();
  cleanups.push(() => bench.edge.stop());
  await waitUntil('all that was kept has come', () => bench.counts()['messages'] === 300, {
    withinMs: 30_000 * patience(),
    explain: () => JSON.stringify(bench.edge.state()),
  });
  expect(bench.counts()).toMatchObject({ connected: 1, repeated: 0 });
});
