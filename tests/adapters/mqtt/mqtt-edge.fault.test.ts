import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, describe, expect, test, vi } from 'vitest';
import { freePort } from '../../servers/free-port.ts';
import { mosquittoPub, startMosquitto } from '../../servers/mosquitto.ts';
import { patience, waitUntil } from '../../servers/server-process.ts';
import { createRoom, dated } from './mqtt-bench.ts';

// Slow on a loaded machine, and no time is asserted.
vi.setConfig({ testTimeout: 120_000 * patience(), hookTimeout: 120_000 * patience() });

/** A real mosquitto, its own clients, and the edge against it. */
const { broker, hub, cleanups, cleanUp } = createRoom();
afterEach(cleanUp);

describe.each(['3.1.1', '5'] as const)('MQTT %s', (protocol) => {
  test('readings of every format arrive, each once, with the source, channel and time that they state', async () => {
    const { port } = await broker();
    const bench = hub(port, { protocol });
    await bench.startedUp();
    await mosquittoPub(port, 'room/ph', '8.12');
    await mosquittoPub(port, 'room/rack', '{"water":{"ph":8.1,"t":25.3},"at":"2026-05-01T12:00:00Z"}');
    await mosquittoPub(port, 'room/senml', '[{"bn":"tank:","n":"t","u":"Cel","bt":1.7e9,"v":25.31}]', { qos: 0 });
    await mosquittoPub(port, 'room/other', '1');
    await waitUntil('all are in', () => bench.values().length === 4);
    const statedMs = Date.parse('2026-05-01T12:00:00Z');
    expect(bench.observations).toMatchObject([
      { source: 'mqtt:room/ph', channel: '', value: 8.12 },
      { source: 'mqtt:room/rack', channel: 'water.ph', value: 8.1, statedMs },
      { source: 'mqtt:room/rack', channel: 'water.t', value: 25.3, statedMs },
      { source: 'mqtt:room/senml', channel: 'tank:t', value: 25.31, unit: 'Cel', statedMs: 1.7e12 },
    ]);
    expect(bench.observations.every(({ isRetained }) => isRetained === undefined)).toBe(true);
  });

  test('what is sent while the hub is away waits in its session and arrives once', async () => {
    const { port } = await broker();
    const first = hub(port, { protocol });
    await first.startedUp();
    await first.edge.stop();
    for (const value of ['8.01', '8.02', '8.03']) await mosquittoPub(port, ...dated(value));
    const second = hub(port, { protocol });
    await second.startedUp();
    await mosquittoPub(port, ...dated('8.04'));
    await waitUntil('the last one is in', () => second.values().includes(8.04));
    expect(second.values()).toEqual([8.01, 8.02, 8.03, 8.04]);
    expect(second.counts()['repeated']).toBe(0);
  });

  test('a broker killed with -9 and started again costs no message of the meantime and repeats none of them', async () => {
    const mosquitto = await broker();
    const { port } = mosquitto;
    const bench = hub(port, { protocol });
    await bench.startedUp();
    await mosquittoPub(port, ...dated('8.01'));
    await waitUntil('it is in', () => bench.values().length === 1);
    await mosquitto.kill();
    await waitUntil('the loss is told', () => !bench.edge.state().isUp);
    await mosquitto.restart();
    // At once, most likely before the hub is back: the broker knows its session from the disk.
    for (const value of ['8.02', '8.03']) await mosquittoPub(port, ...dated(value));
    await waitUntil('the hub is back', () => bench.edge.state().isUp);
    await mosquittoPub(port, ...dated('8.04'));
    await waitUntil('the last one is in', () => bench.values().includes(8.04));
    // The first may come again: its acknowledgement was perhaps not on the broker's disk when it was killed.
    expect(bench.values().filter((value) => value !== 8.01)).toEqual([8.02, 8.03, 8.04]);
    expect(bench.values().length - 4).toBe(bench.counts()['repeated']);
    expect(bench.ups()).toEqual([true, false, true]);
  });

  test('a message is acknowledged only after it is stored: a hub that dies before gets it again', async () => {
    const { port } = await broker();
    const dying = hub(port, { protocol }, () => new Promise(() => undefined));
    await dying.startedUp();
    await mosquittoPub(port, ...dated('8.05'));
    await waitUntil('it is in the hands of the store', () => dying.values().length === 1);
    // The same client id: the broker ends the first connection, as the death of the process would.
    const next = hub(port, { protocol });
    await next.edge.start();
    await waitUntil('it comes again', () => next.values().length >= 1);
    expect(next.values()[0]).toBe(8.05);
    expect(next.counts()['repeated']).toBe(1);
    await dying.edge.stop();
  });

  test('a slow store holds up neither the reading of further messages nor the pings', async () => {
    const { port } = await broker();
    const store: (() => void)[] = [];
    const keepaliveSeconds = 3;
    const bench = hub(port, { protocol, keepaliveSeconds }, () => new Promise((resolve) => store.push(resolve)));
    await bench.startedUp();
    for (const value of ['1', '2', '3', '4', '5']) await mosquittoPub(port, ...dated(value));
    await waitUntil('all are handed over although none is stored', () => bench.values().length === 5);
    // Longer than one and a half keepalives: without pings and their answers the link would break here.
    await new Promise((resolve) => setTimeout(resolve, 1600 * keepaliveSeconds));
    expect(bench.edge.state()).toMatchObject({ isUp: true, counts: { connected: 1, unstored: 5 } });
    for (const stored of store.splice(0)) stored();
    await waitUntil('all are stored', () => bench.counts()['unstored'] === 0);
    await bench.edge.stop();
    const again = hub(port, { protocol });
    await again.startedUp();
    await mosquittoPub(port, ...dated('6'));
    await waitUntil('the next is in', () => again.values().length > 0);
    expect(again.values()).toEqual([6]);
  });
});

test.each(['3.1.1', '5'] as const)(
  'MQTT %s: an hour of readings without a time that waited at the broker lands in seconds, dated by its arrival',
  async (protocol) => {
    const { port } = await broker();
    const first = hub(port, { protocol });
    await first.startedUp();
    await first.edge.stop();
    for (const value of ['8.01', '8.02']) await mosquittoPub(port, 'room/ph', value);
    await mosquittoPub(port, ...dated('8.03'));
    const second = hub(port, { protocol });
    await second.startedUp();
    await waitUntil('the queue is over, and a reading that comes now is one of now', async () => {
      await mosquittoPub(port, 'room/ph', '8.04');
      return second.values().includes(8.04);
    });
    expect(second.values().filter((value) => value !== 8.04)).toEqual([8.03]);
    expect(second.counts()['waited_undated']).toBeGreaterThanOrEqual(2);
    expect(second.rejects.slice(0, 2)).toMatchObject([
      { source: 'mqtt:room/ph', reason: 'waited_undated', found: '8.01' },
      { source: 'mqtt:room/ph', reason: 'waited_undated', found: '8.02' },
    ]);
  },
);

test('a broker that lets nobody hear himself leaves readings without a time out for good', async () => {
  const dir = mkdtempSync(join(tmpdir(), 'brinekeep-acl-'));
  cleanups.push(() => rmSync(dir, { recursive: true, force: true }));
  const acl = join(dir, 'acl');
  writeFileSync(acl, 'topic readwrite room/#\ntopic readwrite brinekeep/status\n', { mode: 0o600 });
  const { port } = await broker({ config: `acl_file ${acl}` });
  const first = hub(port);
  await first.startedUp();
  await first.edge.stop();
  const second = hub(port, { queueEndWithinMs: 500 });
  await second.startedUp();
  await waitUntil('they are taken in again', async () => {
    await mosquittoPub(port, 'room/ph', '8.04');
    return second.values().includes(8.04);
  });
});

test('a store that is full of waiting messages stops the reading, and the broker keeps the rest', async () => {
  const { port } = await broker();
  const store: (() => void)[] = [];
  const bench = hub(port, { mostUnstored: 3 }, () => new Promise((resolve) => store.push(resolve)));
  await bench.startedUp();
  for (let value = 1; value <= 10; value += 1) await mosquittoPub(port, 'room/ph', String(value));
  await waitUntil('three are taken', () => bench.values().length === 3);
  expect(bench.counts()['unstored']).toBe(3);
  await waitUntil('all ten came in the end', () => {
    for (const stored of store.splice(0)) stored();
    return new Set(bench.values()).size === 10;
  });
  expect(bench.values().slice(0, 3)).toEqual([1, 2, 3]);
});

test('a store that refuses a message gets it again later', async () => {
  const { port } = await broker();
  let refusals = 2;
  const bench = hub(port, {}, () => {
    refusals -= 1;
    if (refusals >= 0) throw new Error('disk full');
  });
  await bench.startedUp();
  await mosquittoPub(port, ...dated('8.2'));
  await waitUntil('it is stored at the third try', () => bench.values().length === 3);
  await waitUntil('the hub is up', () => bench.edge.state().isUp);
  expect(bench.values()).toEqual([8.2, 8.2, 8.2]);
  expect(bench.counts()).toMatchObject({ not_stored: 2, repeated: 2 });
});

test('a retained message is marked, on every connection, and never looks like a fresh reading', async () => {
  const mosquitto = await broker();
  const { port } = mosquitto;
  await mosquittoPub(port, 'room/ph', '7.9', { retain: true });
  const bench = hub(port);
  await bench.startedUp();
  await waitUntil('it is replayed', () => bench.values().length === 1);
  await mosquitto.restart();
  await waitUntil('it is replayed after the restart', () => bench.values().length >= 2);
  await waitUntil('the hub is up', () => bench.edge.state().isUp);
  await mosquittoPub(port, 'room/ph', '8.0', { retain: true });
  await waitUntil('a live one is in', () => bench.values().includes(8));
  // Twice at the least: the broker also repeats it when it went down before it had the acknowledgement; mostly that is noticed.
  const replayed = bench.observations.filter(({ value }) => value === 7.9);
  const { repeated, repeated_dropped } = bench.counts();
  expect(replayed.length).toBe(2 + repeated! - repeated_dropped!);
  expect(replayed.every(({ isRetained }) => isRetained === true)).toBe(true);
  expect(bench.observations.filter(({ value }) => value === 8).map(({ isRetained }) => isRetained)).toEqual([
    undefined,
  ]);
});

test('two equal messages are two readings; nothing is taken for a repeat by its value', async () => {
  const { port } = await broker();
  const bench = hub(port);
  await bench.startedUp();
  await mosquittoPub(port, 'room/ph', '8.1');
  await mosquittoPub(port, 'room/ph', '8.1');
  await waitUntil('both are in', () => bench.values().length === 2);
});

test('bad payloads and one of 1 MiB are refused, acknowledged and forgotten, and the next good one is read', async () => {
  const { port } = await broker();
  const bench = hub(port);
  await bench.startedUp();
  const dir = mkdtempSync(join(tmpdir(), 'brinekeep-payload-'));
  cleanups.push(() => rmSync(dir, { recursive: true }));
  const file = join(dir, 'payload');
  writeFileSync(file, Buffer.alloc(1_048_576, '8'));
  await mosquittoPub(port, 'room/ph', 'warm');
  await mosquittoPub(port, 'room/ph', 'nan');
  await mosquittoPub(port, 'room/ph', '');
  await mosquittoPub(port, 'room/rack', '{"water":');
  await mosquittoPub(port, 'room/rack', '{"air":{"t":20}}');
  await mosquittoPub(port, 'room/ph', { file });
  await mosquittoPub(port, 'room/ph', '8.3');
  await waitUntil('the good one is in', () => bench.values().length === 1);
  expect(bench.values()).toEqual([8.3]);
  expect(bench.counts()).toMatchObject({ too_long: 1, malformed: 2, not_finite: 1, unknown_channel: 1, connected: 1 });
});

test.each(['3.1.1', '5'] as const)(
  'a message of 16 MiB on a probe’s topic is gathered whole, or makes the hub deaf for good: MQTT %s',
  async (protocol) => {
    const { port } = await broker();
    const bench = hub(port, { protocol });
    await bench.startedUp();
    const dir = mkdtempSync(join(tmpdir(), 'brinekeep-payload-'));
    cleanups.push(() => rmSync(dir, { recursive: true }));
    const file = join(dir, 'payload');
    writeFileSync(file, Buffer.alloc(16 * 1_048_576, '8'));
    await mosquittoPub(port, 'room/ph', { file });
    await mosquittoPub(port, 'room/ph', '8.3');
    await waitUntil('the good one is in', () => bench.values().length === 1);
    expect(bench.counts()).toMatchObject({ too_long: 1, repeated: 0, connected: 1 });
    expect(bench.rejects.map(({ found }) => found)).toEqual(['more than 262144 bytes']);
    // Acknowledged and in order: neither comes again to the next connection of the session.
    await bench.edge.stop();
    const again = hub(port, { protocol });
    await again.startedUp();
    await mosquittoPub(port, 'room/ph', '8.4');
    await waitUntil('the next is in', () => again.values().includes(8.4));
    expect(again.values()).toEqual([8.4]);
    expect(again.counts()).toMatchObject({ repeated: 0, connected: 1 });
  },
);

describe('a broker that does not want', () => {
  test('a broker that is not there at first is found when it comes, and told of once each way', async () => {
    const port = await freePort();
    const bench = hub(port);
    await bench.edge.start();
    await waitUntil('the failure is told', () => bench.ups().length === 1);
    await expect(bench.edge.publish('brinekeep/x', '1', { retain: false })).rejects.toMatchObject({
      code: 'link_down',
    });
    await new Promise((resolve) => setTimeout(resolve, 500));
    await broker({ port });
    await waitUntil('it is found', () => bench.edge.state().isUp);
    expect(bench.ups()).toEqual([false, true]);
    expect(bench.changes[0]?.detail).toContain('ECONNREFUSED');
  });

  test('a broker that refuses the login once is asked again, and welcomes', async () => {
    const closed = (port: number) => `listener ${port} 127.0.0.1\nallow_anonymous false`;
    const refusing = await startMosquitto({ listener: closed });
    const bench = hub(refusing.port);
    await bench.edge.start();
    await waitUntil('the refusal is told', () => bench.ups().length === 1);
    expect(bench.changes[0]?.detail).toMatch(/refused/i);
    await refusing.stop();
    await broker({ port: refusing.port });
    await waitUntil('it is welcome', () => bench.edge.state().isUp);
    expect(bench.ups()).toEqual([false, true]);
  });

  test('a frozen broker is noticed by its silence, and publishing says so instead of waiting for ever', async () => {
    const mosquitto = await broker();
    const bench = hub(mosquitto.port, { connectTimeoutMs: 500, keepaliveSeconds: 1 });
    await bench.startedUp();
    mosquitto.freeze();
    await expect(bench.edge.publish('brinekeep/x', '1', { retain: false })).rejects.toMatchObject({
      code: 'link_down',
    });
    expect(bench.edge.state().isUp).toBe(false);
    mosquitto.thaw();
    await waitUntil('it is back', () => bench.edge.state().isUp);
    expect(bench.ups()).toEqual([true, false, true]);
  });

  test('an address that is none is told of, not thrown', async () => {
    const bench = hub(1, { url: 'mqtts://127.0.0.1:1', tls: { ca: Buffer.from('no certificate') } });
    await bench.edge.start();
    await waitUntil('it is told', () => bench.ups().length === 1);
    expect(bench.edge.state().isUp).toBe(false);
  });
});
