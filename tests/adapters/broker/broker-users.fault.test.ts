import { execFileSync } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { connect, connectAsync } from 'mqtt';
import { afterEach, expect, test, vi } from 'vitest';
import { type BrokerOptions, createEmbeddedBroker } from '#adapters/broker/embedded-broker.ts';
import type { BrokerRefusal } from '#adapters/ports/hub-adapters.ts';
import { brokerUsersOf } from '#hub/outside/access/broker-users.ts';
import { configOf, roomText } from '../../servers/hub-process.ts';
import { mosquittoPub, mosquittoSub } from '../../servers/mosquitto.ts';
import { patience, startProcess, waitUntil } from '../../servers/server-process.ts';
import { createRecorder } from '../serial/recorder.ts';

// Slow on a loaded machine, and no time is asserted.
vi.setConfig({ testTimeout: 120_000 * patience(), hookTimeout: 120_000 * patience() });

/** The embedded broker with users, with mosquitto's clients, plain and over TLS. */
const cleanups: (() => unknown)[] = [];
afterEach(async () => {
  for (const cleanup of cleanups.splice(0).reverse()) await cleanup();
});

const board = ['-u', 'board', '-P', 'tide pool 17'];
const phone = ['-u', 'ana', '-P', 'sea fan 23'];

const config = configOf(
  roomText('/nowhere', {
    probes: [{ id: 'ph', system: 'display', metric: 'ph', mqtt: { topic: 'room/ph' } }],
    broker: {
      host: '127.0.0.1',
      users: [
        { name: 'board', role: 'probe', password_env: 'BOARD' },
        { name: 'ana', role: 'phone', password_env: 'ANA' },
      ],
    },
  }),
  { BOARD: 'tide pool 17', ANA: 'sea fan 23' },
);
const users = brokerUsersOf(config, (name) => ({ BOARD: 'tide pool 17', ANA: 'sea fan 23' })[name ?? '']);

async function started(more: Partial<BrokerOptions> = {}) {
  const refusals: BrokerRefusal[] = [];
  const edge = createEmbeddedBroker(
    {
      ...{ host: '127.0.0.1', port: 0, mostClients: 50, mostMessageBytes: 262_144, users },
      onRefused: (refusal) => refusals.push(refusal),
      ...more,
    },
    createRecorder().listener,
  );
  await edge.start();
  cleanups.push(() => edge.stop());
  return { edge, refusals, counts: () => edge.state().counts };
}

/** The hub's own link hears everything. */
async function hubLink(edge: ReturnType<typeof createEmbeddedBroker>) {
  const { port, username = '', password = '' } = edge.ownLink;
  const link = connect({ host: '127.0.0.1', port, username, password, clientId: 'the-hub', reconnectPeriod: 0 });
  cleanups.push(() => link.endAsync(true));
  const heard: string[] = [];
  link.on('message', (topic, payload) => heard.push(`${topic} ${payload}`));
  await link.subscribeAsync('#', { qos: 1 });
  return { link, heard };
}

async function subscriber(port: number, topic: string, args: string[]) {
  const sub = await mosquittoSub(port, topic, args);
  cleanups.push(() => sub.stop());
  return sub;
}

/** An own certificate for 127.0.0.1, by openssl. */
function certificate(): { dir: string; cert: string; key: string } {
  const dir = mkdtempSync(join(tmpdir(), 'brinekeep-tls-'));
  cleanups.push(() => rmSync(dir, { recursive: true }));
  const [cert, key] = [join(dir, 'cert.pem'), join(dir, 'key.pem')];
  execFileSync(
    'openssl',
    [
      ...['req', '-x509', '-newkey', 'ec', '-pkeyopt', 'ec_paramgen_curve:prime256v1', '-nodes', '-days', '2'],
      ...['-subj', '/CN=hub', '-addext', 'subjectAltName=IP:127.0.0.1', '-keyout', key, '-out', cert],
    ],
    { stdio: 'ignore' },
  );
  return { dir, cert, key };
}

test('somebody on the Wi-Fi without a password, or with a wrong one, publishes or listens', async () => {
  const { edge, counts, refusals } = await started();
  const { heard } = await hubLink(edge);
  for (const args of [
    [],
    ['-u', 'board', '-P', 'wrong'],
    ['-u', 'hub', '-P', ''],
    ['-u', 'nobody', '-P', 'tide pool 17'],
  ]) {
    await expect(mosquittoPub(edge.port, 'room/ph', '6.1', { args })).rejects.toThrow(/not authori[sz]ed/i);
  }
  // The hub's own name and password open its own listener alone.
  const { username = '', password = '' } = edge.ownLink;
  await expect(mosquittoPub(edge.port, 'room/ph', '6.1', { args: ['-u', username, '-P', password] })).rejects.toThrow();
  await expect(mosquittoPub(edge.ownLink.port, 'room/ph', '6.1', { args: board })).rejects.toThrow();
  await mosquittoPub(edge.port, 'room/ph', '8.1', { args: board });
  await waitUntil('the good one is there', () => heard.length > 0);
  expect(heard).toEqual(['room/ph 8.1']);
  expect(counts()['refused_login']).toBe(6);
  expect(JSON.stringify(refusals)).not.toMatch(/tide pool|nobody|wrong/);
});

test('a probe that was taken over acknowledges alarms, enters tests, or reads what the phone is told', async () => {
  const { edge, counts, refusals } = await started();
  const { link, heard } = await hubLink(edge);
  await link.publishAsync('brinekeep/status', 'online', { retain: true, qos: 1 });
  for (const topic of [
    'brinekeep/command',
    'brinekeep/enter/test',
    'brinekeep/phone',
    'room/ph/more',
    '$SYS/x',
    'room',
  ]) {
    await mosquittoPub(edge.port, topic, 'x', { args: board, retain: true }).catch(() => undefined);
  }
  // Its last will is a message like any other.
  const dying = startProcess('mosquitto_sub', [
    ...['-h', '127.0.0.1', '-p', String(edge.port), '-t', 'room/ph', '-d', ...board, '-i', 'dying'],
    ...['--will-topic', 'brinekeep/command', '--will-payload', 'acknowledge all'],
  ]);
  await waitUntil('it is in', () => /CONNACK/.test(dying.log()), { explain: dying.log });
  await dying.end('SIGKILL');
  for (const filter of ['#', 'brinekeep/#', 'room/ph', '+/phone', '$SYS/#']) {
    const sub = startProcess('mosquitto_sub', [
      ...['-h', '127.0.0.1', '-p', String(edge.port), '-t', filter, '-E', '-d', ...board],
    ]);
    await waitUntil('it has its answer', () => !sub.isRunning(), { explain: sub.log });
    // The code of a refused subscription: MQTT 3.1.1, 3.9.3.
    expect(sub.log()).toMatch(/128/);
  }
  await mosquittoPub(edge.port, 'room/ph', '8.1', { args: board });
  await waitUntil('the reading is there', () => heard.includes('room/ph 8.1'));
  await waitUntil('the will is refused', () => (counts()['refused_publish'] ?? 0) >= 6);
  expect(heard.toSorted()).toEqual(['brinekeep/status online', 'room/ph 8.1']);
  expect(refusals.map(({ what, user }) => `${what} ${user}`)).toContain('publish board');
});

test('a phone is not told, cannot acknowledge, or passes for a probe', async () => {
  const { edge } = await started();
  const { link, heard } = await hubLink(edge);
  await link.publishAsync('brinekeep/status', 'online', { retain: true, qos: 1 });
  const sub = await subscriber(edge.port, 'brinekeep/#', phone);
  await mosquittoPub(edge.port, 'brinekeep/command', 'acknowledge x', { args: phone });
  await mosquittoPub(edge.port, 'room/ph', '6.0', { args: phone });
  await mosquittoPub(edge.port, 'brinekeep/phone', 'All is well', { args: phone });
  await link.publishAsync('brinekeep/phone', 'Display tank: pH', { qos: 1 });
  await waitUntil('the phone is told', () => sub.lines().some((line) => line.includes('Display tank')));
  // Neither the commands of others nor what it made up itself.
  expect(sub.lines()).toEqual(['1 brinekeep/status online', '0 brinekeep/phone Display tank: pH']);
  expect(heard).toContain('brinekeep/command acknowledge x');
  expect(heard.filter((line) => /6\.0|All is well/.test(line))).toEqual([]);
});

test('somebody with a password takes the name of the hub’s link, or of a phone, and throws it out', async () => {
  const { edge } = await started();
  const { link } = await hubLink(edge);
  const sub = await subscriber(edge.port, 'brinekeep/phone', [...phone, '-i', 'phone-of-ana', '-c']);
  // Each user has names of his own: these are other clients.
  for (const id of ['the-hub', 'phone-of-ana'])
    await mosquittoPub(edge.port, 'room/ph', '8', { args: [...board, '-i', id] });
  expect(link.connected).toBe(true);
  await link.publishAsync('brinekeep/phone', 'Display tank: pH', { qos: 1 });
  await waitUntil('the phone is told', () => sub.lines().some((line) => line.includes('Display tank')));
});

test('one account takes all places and all lasting sessions, and the phone stays outside without a word', async () => {
  const { edge, counts } = await started({ mostClients: 12 });
  const login = { host: '127.0.0.1', port: edge.port, username: 'board', password: 'tide pool 17' };
  const greedy = Array.from({ length: 12 }, (_, index) =>
    connect({ ...login, clientId: `greedy-${index}`, clean: false, reconnectPeriod: 0 }),
  );
  for (const client of greedy) {
    client.on('error', () => {});
    cleanups.push(() => client.endAsync(true));
  }
  await waitUntil('some are turned away', () => (counts()['refused_full'] ?? 0) > 0);
  const { link } = await hubLink(edge);
  const sub = await subscriber(edge.port, 'brinekeep/phone', phone);
  await link.publishAsync('brinekeep/phone', 'Display tank: pH', { qos: 1 });
  await waitUntil('the phone is told', () => sub.lines().some((line) => line.includes('Display tank')));
  expect(edge.state().trouble).toMatch(/no place for a client of board/);
  expect(greedy.filter((client) => client.connected).length).toBeLessThan(12);
});

test('a probe that floods its topic holds up the phone, or what it says at QoS 1 is lost', async () => {
  const { edge, counts } = await started();
  const { link, heard } = await hubLink(edge);
  const login = { host: '127.0.0.1', port: edge.port, username: 'board', password: 'tide pool 17' };
  const probe = await connectAsync(login);
  cleanups.push(() => probe.endAsync(true));
  for (let n = 0; n < 5000; n += 1) probe.publish('room/ph', '8.1', { qos: 0 });
  await waitUntil('what is too much is counted', () => (counts()['too_many'] ?? 0) > 3000);
  expect(heard.length + (counts()['too_many'] ?? 0)).toBeLessThanOrEqual(5000);
  expect(edge.state().trouble).toMatch(/board floods room\/ph/);
  // Beyond the rate, and none of it lost: its sender waits.
  const before = heard.length;
  await Promise.all(Array.from({ length: 20 }, (_, n) => probe.publishAsync('room/ph', `7.${n}`, { qos: 1 })));
  await waitUntil('all are there', () => heard.slice(before).filter((line) => / 7\./.test(line)).length === 20);
  expect(link.connected).toBe(true);
});

test('passwords are tried out as fast as the line is, or the log fills with it', async () => {
  const { edge, counts, refusals } = await started();
  const guess = () => mosquittoPub(edge.port, 'room/ph', '8', { args: ['-u', 'board', '-P', 'guess'] });
  await Promise.all(Array.from({ length: 12 }, () => guess().catch(() => undefined)));
  expect(counts()['refused_login']).toBe(12);
  // Even the right one is not listened to for a while, from there.
  await expect(mosquittoPub(edge.port, 'room/ph', '8', { args: board })).rejects.toThrow();
  await mosquittoPub(edge.port, 'brinekeep/command', 'x', { args: phone });
  expect(refusals.map(({ times }) => times)).toEqual([1, 10]);
});

test('the time of an answer tells a stranger which user names there are', async () => {
  const checked: string[] = [];
  const counted = users.map((user) => ({
    ...user,
    isPassword: (given: string) => {
      checked.push(given);
      return user.isPassword(given);
    },
  }));
  const { edge } = await started({ users: counted });
  const refused = (...login: string[]) =>
    expect(mosquittoPub(edge.port, 'room/ph', '8.1', { args: login })).rejects.toThrow(/not authori[sz]ed/i);
  // The same work for each: a password, hashed or not, is checked once.
  await refused('-u', 'board', '-P', 'wrong for a user');
  await refused('-u', 'nobody', '-P', 'wrong for nobody');
  await refused('-u', 'nobody', '-P', 'tide pool 17');
  await refused();
  expect(checked).toEqual(['wrong for a user', 'wrong for nobody', 'tide pool 17', '']);
});

test('over TLS the password can be read on the way, or a slow phone holds up the others', async () => {
  const { cert, key } = certificate();
  const { edge, counts } = await started({
    tls: { cert: readFileSync(cert), key: readFileSync(key) },
    mostMessageBytes: 65_536,
  });
  const tls = ['--cafile', cert];
  const { link, heard } = await hubLink(edge);
  const plain = mosquittoPub(edge.port, 'room/ph', '8', { args: board });
  await expect(plain).rejects.toThrow();
  await mosquittoPub(edge.port, 'room/ph', '8.2', { args: [...board, ...tls] });
  await waitUntil('the reading is there', () => heard.includes('room/ph 8.2'));
  const slow = await subscriber(edge.port, 'brinekeep/phone', [...phone, ...tls, '-i', 'slow']);
  const quick = await subscriber(edge.port, 'brinekeep/phone', [...phone, ...tls, '-i', 'quick']);
  slow.freeze();
  // More than the kernel takes for one that does not read, at the pace of the quick one.
  for (let count = 0; count < 600 && counts()['slow_cut_off'] === 0; count += 4) {
    for (let more = 0; more < 4; more += 1) await link.publishAsync('brinekeep/phone', 'x'.repeat(60_000), { qos: 0 });
    await link.publishAsync('brinekeep/phone', `until ${count}.`, { qos: 1 });
    await waitUntil('the quick one has it', () => quick.lines().at(-1)?.endsWith(` ${count}.`) === true);
  }
  await link.publishAsync('brinekeep/phone', 'the last', { qos: 1 });
  await waitUntil('the quick one has the last', () => quick.lines().at(-1)?.includes('the last') === true);
  expect(counts()['slow_cut_off']).toBe(1);
  slow.thaw();
});

test('a broker without users listens on the network', () => {
  const open = { host: '0.0.0.0', port: 0, mostClients: 5, mostMessageBytes: 1000 };
  expect(() => createEmbeddedBroker(open, createRecorder().listener)).toThrow(/does not listen on 0\.0\.0\.0/);
});
