import { afterEach, describe, expect, test, vi } from 'vitest';
import { freePort } from '../../servers/free-port.ts';
import { mosquittoPub, mosquittoSub } from '../../servers/mosquitto.ts';
import { patience, startProcess, waitUntil } from '../../servers/server-process.ts';
import { createRoom } from './mqtt-bench.ts';

// Slow on a loaded machine, and no time is asserted.
vi.setConfig({ testTimeout: 120_000 * patience(), hookTimeout: 120_000 * patience() });

/** A real mosquitto, its own clients, and the edge against it. */
const { broker, hub, cleanups, cleanUp } = createRoom();
afterEach(cleanUp);

describe('the hub’s own messages', () => {
  test('the state stands retained: online with its time, offline at a stop, and offline as the will when it dies', async () => {
    const { port } = await broker();
    const witness = await mosquittoSub(port, 'brinekeep/status');
    cleanups.push(() => witness.stop());
    const states = () => witness.lines().map((line) => JSON.parse(line.split(' ').slice(2).join(' ')));
    const bench = hub(port);
    await bench.startedUp();
    await waitUntil('it is online', () => states().length === 1);
    expect(Math.abs(Date.parse(states()[0].since) - Date.now())).toBeLessThan(60_000);
    await bench.edge.stop();
    await waitUntil('it is offline', () => states().length === 2);
    expect(states().map(({ state }) => state)).toEqual(['online', 'offline']);
    expect(Date.parse(states()[1].since)).toBeGreaterThanOrEqual(Date.parse(states()[0].since));
    // The cable is cut: a relay between the two is killed.
    const between = await freePort();
    const relay = startProcess('socat', [`TCP-LISTEN:${between},bind=127.0.0.1`, `TCP:127.0.0.1:${port}`]);
    cleanups.push(() => relay.end('SIGKILL'));
    const dying = hub(between);
    await dying.startedUp();
    await relay.end('SIGKILL');
    await waitUntil('the will is out', () => states().some(({ since }) => since === null));
    expect(states().map(({ state }) => state)).toEqual(['online', 'offline', 'online', 'offline']);
  });

  test('a publish resolves when the broker has it, and a retained one is there for who comes later', async () => {
    const { port } = await broker();
    const bench = hub(port);
    await bench.startedUp();
    await bench.edge.publish('brinekeep/notice', 'pH is low', { retain: true });
    const late = await mosquittoSub(port, 'brinekeep/notice');
    cleanups.push(() => late.stop());
    await waitUntil('it is there', () => late.lines().length === 1);
    expect(late.lines()).toEqual(['1 brinekeep/notice pH is low']);
    await expect(bench.edge.publish('brinekeep/+', 'x', { retain: false })).rejects.toMatchObject({
      code: 'bad_topic',
    });
  });

  test('publishing without an answer is bounded: beyond the bound it is refused at once', async () => {
    const mosquitto = await broker();
    const bench = hub(mosquitto.port, { mostOpenPublishes: 5, keepaliveSeconds: 1 });
    await bench.startedUp();
    mosquitto.freeze();
    const results = await Promise.allSettled(
      Array.from({ length: 8 }, (_, turn) => bench.edge.publish('brinekeep/x', String(turn), { retain: false })),
    );
    const codes = results.map((result) => (result.status === 'rejected' ? result.reason.code : 'sent'));
    expect(codes.filter((code) => code === 'too_many_open')).toHaveLength(3);
    expect(codes.filter((code) => code === 'link_down')).toHaveLength(5);
    mosquitto.thaw();
  });

  test('commands reach the hub with their topic, and a command that fails is not sent for ever', async () => {
    const { port } = await broker();
    const bench = hub(port);
    bench.commands.push = () => {
      throw new Error('a fault in the handler');
    };
    await bench.startedUp();
    await mosquittoPub(port, 'brinekeep/command/acknowledge', 'display-ph');
    await waitUntil('the failure is counted', () => bench.counts()['commands_failed'] === 1);
    bench.commands.push = Array.prototype.push;
    await mosquittoPub(port, 'brinekeep/command/shelve', 'display-ph');
    await waitUntil('the next is in', () => bench.commands.length === 1);
    expect(bench.commands[0]).toMatchObject({
      topic: 'brinekeep/command/shelve',
      text: 'display-ph',
      isRetained: false,
    });
    expect(bench.counts()['connected']).toBe(1);
  });

  test('topics of an older configuration, which live on in the session, are given up', async () => {
    const { port } = await broker();
    const old = await mosquittoSub(port, 'room/removed', ['-i', 'hub-under-test', '-c']);
    await old.stop();
    const bench = hub(port);
    await bench.startedUp();
    await mosquittoPub(port, 'room/removed', '1');
    await waitUntil('it is counted', () => bench.counts()['unknown_topic'] === 1);
    await mosquittoPub(port, 'room/removed', '2');
    await mosquittoPub(port, 'room/ph', '8.1');
    await waitUntil('the probe is heard', () => bench.values().length === 1);
    expect(bench.counts()['unknown_topic']).toBe(1);
  });
});
