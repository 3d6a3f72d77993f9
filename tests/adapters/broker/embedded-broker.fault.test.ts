import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { connect, createServer } from 'node:net';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { connectAsync } from 'mqtt';
import { afterEach, describe, expect, test, vi } from 'vitest';
import { type BrokerOptions, createEmbeddedBroker } from '#adapters/broker/embedded-broker.ts';
import { freePort } from '../../servers/free-port.ts';
import { type MosquittoSub, mosquittoPub, mosquittoSub } from '../../servers/mosquitto.ts';
import { patience, portAnswers, waitUntil } from '../../servers/server-process.ts';
import { createBench, dated } from '../mqtt/mqtt-bench.ts';
import { createRecorder } from '../serial/recorder.ts';

// Slow on a loaded machine, and no time is asserted.
vi.setConfig({ testTimeout: 120_000 * patience(), hookTimeout: 120_000 * patience() });

/** The embedded broker with mosquitto's clients, and with the hub's own link. */
const cleanups: (() => void | Promise<void>)[] = [];
afterEach(async () => {
  for (const cleanup of cleanups.splice(0).reverse()) await cleanup();
});

function broker(more: Partial<BrokerOptions> = {}) {
  const recorder = createRecorder();
  const edge = createEmbeddedBroker(
    { host: '127.0.0.1', port: 0, mostClients: 50, mostMessageBytes: 262_144, ...more },
    recorder.listener,
  );
  cleanups.push(() => edge.stop());
  return { edge, ups: recorder.ups, changes: recorder.changes, counts: () => edge.state().counts };
}

async function subscriber(...args: Parameters<typeof mosquittoSub>): Promise<MosquittoSub> {
  const sub = await mosquittoSub(...args);
  cleanups.push(() => sub.stop());
  return sub;
}

function payloadFile(bytes: number): { file: string } {
  const dir = mkdtempSync(join(tmpdir(), 'brinekeep-payload-'));
  cleanups.push(() => rmSync(dir, { recursive: true }));
  const file = join(dir, 'payload');
  writeFileSync(file, Buffer.alloc(bytes, '8'));
  return { file };
}

test('a probe’s message reaches the hub and a phone, retained ones also who comes later', async () => {
  const { edge, ups } = broker();
  await edge.start();
  expect(ups()).toEqual([true]);
  const phone = await subscriber(edge.port, 'room/#');
  const hub = createBench(edge.port);
  cleanups.push(() => hub.edge.stop());
  await hub.startedUp();
  await mosquittoPub(edge.port, 'room/ph', '8.12', { retain: true });
  await waitUntil('both have it', () => hub.values().length === 1 && phone.lines().length === 1);
  expect(hub.observations[0]).toMatchObject({ source: 'mqtt:room/ph', value: 8.12 });
  const late = await subscriber(edge.port, 'room/ph');
  await waitUntil('it is retained', () => late.lines().length === 1);
  expect(late.lines()).toEqual(['1 room/ph 8.12']);
});

test('what is sent while the hub’s link is away waits for it and comes once', async () => {
  const { edge } = broker();
  await edge.start();
  const first = createBench(edge.port);
  await first.startedUp();
  await first.edge.stop();
  for (const value of ['1', '2', '3']) await mosquittoPub(edge.port, ...dated(value));
  const second = createBench(edge.port);
  cleanups.push(() => second.edge.stop());
  await second.startedUp();
  await mosquittoPub(edge.port, ...dated('4'));
  await waitUntil('the last is in', () => second.values().includes(4));
  expect(second.values()).toEqual([1, 2, 3, 4]);
});

test('a client that sends a packet above the limit is cut off, and nobody else notices', async () => {
  const { edge, counts } = broker({ mostMessageBytes: 1000 });
  await edge.start();
  const phone = await subscriber(edge.port, 'room/#');
  await mosquittoPub(edge.port, 'room/big', payloadFile(1_048_576)).catch(() => undefined);
  await waitUntil('it is cut off', () => counts()['too_large']! > 0);
  await mosquittoPub(edge.port, 'room/small', 'x'.repeat(900));
  await waitUntil('the small one is there', () => phone.lines().length === 1);
  expect(phone.lines()[0]).toContain('room/small');
});

test('bytes that are no MQTT, and a client that breaks off, end only their own connection', async () => {
  const { edge, counts } = broker();
  await edge.start();
  for (const bytes of [
    'GET / HTTP/1.1\r\n\r\n',
    '\x10\x0c\x00\x04MQTT\x04',
    '\x00\x00\x00',
    '\x30\xff\xff\xff\xff\xff',
  ]) {
    const before = counts()['accepted']!;
    const socket = connect({ port: edge.port, host: '127.0.0.1' });
    socket.on('error', () => undefined);
    socket.end(Buffer.from(bytes, 'latin1'));
    await waitUntil('it is over', () => counts()['accepted'] === before + 1 && counts()['clients'] === 0);
  }
  const phone = await subscriber(edge.port, 'room/#');
  await mosquittoPub(edge.port, 'room/ph', '8');
  await waitUntil('the broker lives', () => phone.lines().length === 1);
});

test('more clients than allowed are turned away, and those inside stay', async () => {
  const { edge, counts } = broker({ mostClients: 2 });
  await edge.start();
  const phone = await subscriber(edge.port, 'room/#');
  const second = await subscriber(edge.port, 'other/#');
  await waitUntil('two are in', () => counts()['clients'] === 2);
  await expect(mosquittoPub(edge.port, 'room/ph', '1')).rejects.toThrow();
  expect(counts()['refused_full']).toBeGreaterThan(0);
  await second.stop();
  await waitUntil('one has left', () => counts()['clients'] === 1);
  await mosquittoPub(edge.port, 'room/ph', '2');
  await waitUntil('there is room again', () => phone.lines().length === 1);
});

test('a frozen subscriber is cut off and holds up nobody', async () => {
  const { edge, counts } = broker();
  await edge.start();
  const frozen = await subscriber(edge.port, 'room/#');
  const healthy = await subscriber(edge.port, 'room/ph');
  frozen.freeze();
  const big = payloadFile(200_000);
  for (let turn = 0; turn < 200 && counts()['slow_cut_off'] === 0; turn += 1)
    await mosquittoPub(edge.port, 'room/picture', big);
  expect(counts()['slow_cut_off']).toBe(1);
  await mosquittoPub(edge.port, 'room/ph', '8.1');
  await waitUntil('the others are served', () => healthy.lines().length === 1);
  frozen.thaw();
});

describe('what is kept for the absent is bounded', () => {
  test('messages beyond the bound are not kept, and counted', async () => {
    const { edge, counts } = broker({ mostWaitingOfOne: 3 });
    await edge.start();
    const lasting = ['-i', 'phone', '-c'];
    await (await subscriber(edge.port, 'room/#', lasting)).stop();
    for (let value = 1; value <= 5; value += 1) await mosquittoPub(edge.port, 'room/ph', String(value));
    expect(counts()['waiting_dropped']).toBe(2);
    const back = await subscriber(edge.port, 'room/#', lasting);
    await waitUntil('the kept ones come', () => back.lines().length === 3);
    expect(back.lines()).toEqual(['0 room/ph 1', '0 room/ph 2', '0 room/ph 3']);
    await waitUntil('the room is free again', () => counts()['waiting_bytes'] === 0);
  });

  test('retained messages beyond the bound go out live and are not kept; a cleared one makes room', async () => {
    const { edge, counts } = broker({ mostRetainedBytes: 1100 });
    await edge.start();
    await mosquittoPub(edge.port, 'a', '1', { retain: true });
    await mosquittoPub(edge.port, 'b', '1', { retain: true });
    await mosquittoPub(edge.port, 'c', '1', { retain: true });
    expect(counts()['retained_dropped']).toBe(1);
    await mosquittoPub(edge.port, 'a', '', { retain: true });
    await mosquittoPub(edge.port, 'c', '2', { retain: true });
    const late = await subscriber(edge.port, '+');
    await waitUntil('the kept ones come', () => late.lines().length === 2);
    expect(late.lines().sort()).toEqual(['1 b 1', '1 c 2']);
  });

  test('lasting sessions without end are refused, short ones are not', async () => {
    const { edge, counts } = broker({ mostClients: 1 });
    await edge.start();
    for (let turn = 0; turn < 11; turn += 1) {
      await mosquittoPub(edge.port, 'a', '1', { args: ['-i', `probe-${turn}`, '-c'] }).catch(() => undefined);
      await waitUntil('it has left', () => counts()['clients'] === 0);
    }
    expect(counts()).toMatchObject({ sessions: 10, refused_sessions: 1 });
    await mosquittoPub(edge.port, 'a', '1');
  });
});

describe('a client that never has enough', () => {
  test('subscriptions without end fill the memory, or those of one that has left stay counted', async () => {
    const { edge, counts } = broker({ mostSubscriptionBytes: 2100 });
    await edge.start();
    const url = `mqtt://127.0.0.1:${edge.port}`;
    const connectAs = async (clientId: string, clean: boolean) => {
      const client = await connectAsync(url, { clientId, clean, reconnectPeriod: 0 });
      cleanups.push(() => client.endAsync(true));
      const granted = async (...filters: string[]) =>
        (await client.subscribeAsync(filters, { qos: 1 }).catch(() => [])).map(({ qos }) => qos);
      return { client, granted };
    };
    for (const clean of [true, false]) {
      const before = counts()['refused_subscriptions'] ?? 0;
      const greedy = await connectAs(`greedy-${clean}`, clean);
      await greedy.granted('a', 'b', 'c', 'd', 'e', 'f');
      expect(counts()['refused_subscriptions']).toBe(before + 2);
      const other = await connectAs('other', true);
      await other.granted('g');
      expect(counts()['refused_subscriptions']).toBe(before + 3);
      // What one gives back another may have; a lasting session keeps the rest until it ends.
      await greedy.client.unsubscribeAsync('a');
      await other.granted('g');
      expect(counts()['refused_subscriptions']).toBe(before + 3);
      await greedy.client.endAsync();
      await other.client.endAsync();
      if (!clean) {
        const back = await connectAs(`greedy-${clean}`, true);
        await back.client.endAsync();
      }
      await waitUntil('all have left', () => counts()['clients'] === 0);
    }
    const next = await connectAs('next', true);
    expect(await next.granted('a', 'b', 'c', 'd')).toEqual([1, 1, 1, 1]);
  });

  test('messages of QoS 2 that are never released fill the memory, or cost the others theirs', async () => {
    const { edge, counts } = broker({ mostUnreleasedBytes: 5000 });
    await edge.start();
    const phone = await subscriber(edge.port, 'room/#', ['-q', '2']);
    const socket = connect({ port: edge.port, host: '127.0.0.1' });
    let isClosed = false;
    socket.on('error', () => undefined).on('close', () => (isClosed = true));
    socket.resume();
    // MQTT 3.1.1, 3.1: CONNECT, a clean session; 3.3: PUBLISH of QoS 2 with the identifiers 1, 2, 3 and so on.
    socket.write(Buffer.from('\x10\x10\0\x04MQTT\x04\x02\0\x3c\0\x04wild', 'latin1'));
    for (let id = 1; id <= 20 && !isClosed; id += 1) {
      const body = Buffer.concat([Buffer.from('\0\x04wild\0', 'latin1'), Buffer.from([id]), Buffer.alloc(100, 'x')]);
      socket.write(Buffer.concat([Buffer.from([0x34, body.length]), body]));
    }
    await waitUntil('it is cut off', () => isClosed);
    expect(counts()['unreleased_refused']).toBeGreaterThan(0);
    await mosquittoPub(edge.port, 'room/ph', '8.1', { args: ['-q', '2'] });
    await waitUntil('an honest one is served', () => phone.lines().length === 1);
  });
});

test('a port that is taken is said, asked for again, and had when it is free', async () => {
  const port = await freePort();
  const other = createServer().listen(port, '127.0.0.1');
  await waitUntil('the port is taken', () => portAnswers(port));
  const { edge, ups, changes } = broker({ port });
  await edge.start();
  expect(edge.state()).toMatchObject({
    isUp: false,
    lastError: expect.stringContaining('is taken by another program'),
  });
  other.close();
  await waitUntil('it listens', () => edge.state().isUp);
  expect(ups()).toEqual([false, true]);
  expect(changes[1]?.detail).toContain(String(port));
});

test('a stop ends every connection and frees the port, and a start after it works again', async () => {
  const { edge } = broker();
  await edge.start();
  const first = edge.port;
  await subscriber(first, 'room/#');
  const idle = connect({ port: first, host: '127.0.0.1' });
  idle.on('error', () => undefined);
  const isClosed = new Promise((resolve) => idle.once('close', resolve));
  await waitUntil('both are in', () => edge.state().counts['clients'] === 2);
  await edge.stop();
  await isClosed;
  expect(await portAnswers(first)).toBe(false);
  await edge.start();
  const phone = await subscriber(edge.port, 'room/#');
  await mosquittoPub(edge.port, 'room/ph', '8');
  await waitUntil('it serves again', () => phone.lines().length === 1);
});
