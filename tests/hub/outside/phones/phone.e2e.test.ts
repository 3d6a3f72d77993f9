import { existsSync, readFileSync, statSync, writeFileSync } from 'node:fs';
import { networkInterfaces } from 'node:os';
import { join } from 'node:path';
import { connectAsync, type MqttClient } from 'mqtt';
import { afterAll, beforeAll, describe, expect, test, vi } from 'vitest';
import { writeOver } from '#adapters/csv/write-over.ts';
import type { AnswerOf } from '#hub/api/contract.ts';
import { configFile } from '#hub/model/settings/config-file.ts';
import type { Hub } from '#hub/room/hub.ts';
import { freePort } from '../../../servers/free-port.ts';
import { configOf, getJson, roomText, scratchRoom, startHubHere } from '../../../servers/hub-process.ts';
import { patience, waitUntil } from '../../../servers/server-process.ts';
import { verbHere } from '../../cli/verb-here.ts';

vi.setConfig({ testTimeout: 120_000 * patience(), hookTimeout: 120_000 * patience() });

/** Another address of this machine: to the broker whoever comes by it is a stranger of the network. */
const network = Object.values(networkInterfaces())
  .flatMap((each) => each ?? [])
  .find(({ family, internal }) => family === 'IPv4' && !internal)?.address;

type Added = AnswerOf<'POST /api/phones'>;

describe.skipIf(network === undefined)('a phone at the broker inside, over the network', () => {
  const scratch = scratchRoom();
  const path = join(scratch.dir, 'room.yaml');
  const readFile = (file: string) => readFileSync(file, 'utf8');
  const verb = (...args: string[]) => verbHere(['phone', ...args, '--config', path]);
  let port = 0;
  let hub: Hub;
  let board: MqttClient;
  const refusals: string[] = [];
  const phones: MqttClient[] = [];

  const at = (host: string, login: object = {}) =>
    connectAsync(`mqtt://${host}:${port}`, { reconnectPeriod: 0, connectTimeout: 60_000, ...login }).then((client) => {
      phones.push(client);
      client.on('error', (error) => refusals.push(error.message));
      return client;
    });
  const temperature = async () =>
    (
      await getJson<{ systems: { metrics: { metric: string; value: number | null }[] }[] }>(`${hub.url}/api/room`)
    ).systems[0]?.metrics.find(({ metric }) => metric === 'temperature')?.value;
  /** The board keeps its one connection through all that happens to the broker. */
  async function boardIsHeard(value: number): Promise<void> {
    expect(board.connected).toBe(true);
    await board.publishAsync('sump/t', String(value), { qos: 1 });
    await waitUntil(`the reading ${value}`, async () => (await temperature()) === value);
  }
  const add = async (name: string, ...more: string[]): Promise<Added> => {
    const ended = await verb('add', name, '--json', '--yes', ...more);
    expect(ended.code, ended.err).toBe(0);
    return JSON.parse(ended.out) as Added;
  };

  beforeAll(async () => {
    port = await freePort();
    const text = [
      '# the room in the cellar',
      ...roomText(scratch.dir, {
        http: { port: await freePort() },
        probes: [{ id: 't', system: 'display', metric: 'temperature', mqtt: { topic: 'sump/t' } }],
      })
        .split('\n')
        .filter((line) => line !== '' && !line.startsWith('broker:')),
      'broker: # boards on this machine send here',
      `  port: ${port} # as the boards have it`,
      '',
    ].join('\n');
    writeFileSync(path, text);
    hub = await startHubHere(configOf(text), {}, undefined, {
      configFile: configFile(path, text, { env: {}, readFile, writeFile: writeOver }),
    });
    board = await connectAsync(`mqtt://127.0.0.1:${port}`, { reconnectPeriod: 0 });
    await boardIsHeard(25.1);
  });

  afterAll(async () => {
    for (const phone of [board, ...phones]) await phone?.endAsync(true);
    await hub?.stop();
    scratch.remove();
  });

  test('the broker is opened without a word, or the keeper is left without what to do', async () => {
    const unasked = await verb('add', 'ana');
    expect(unasked.code).toBe(1);
    expect(unasked.err).toContain('--yes opens it');
    const asked = await fetch(`${hub.url}/api/phones`, {
      method: 'POST',
      headers: { 'content-type': 'application/json' },
      body: '{"name":"ana"}',
    });
    expect(asked.status).toBe(409);
    await expect(at(network ?? '')).rejects.toThrow(/ECONNREFUSED/);
    expect((await verb('list')).out).toContain('The broker is open to this machine only.');
  });

  test('a phone cannot come in, does not hear the test line, or nobody says so', async () => {
    const added = await add('ana');
    expect(added).toMatchObject({ user: 'ana', port, topic: 'brinekeep/phone', tls: false, trouble: null });
    expect(added.hosts).toContain(network);
    expect(added.password).toMatch(/^([a-hjkmnp-z2-9]{4}-){3}[a-hjkmnp-z2-9]{4}$/);
    expect(added.address).toBe(`mqtt://ana@${added.hosts[0]}:${port}`);
    expect(added.address_with_password).toBe(`mqtt://ana:${added.password}@${added.hosts[0]}:${port}`);
    expect(added.qr).toMatch(/^<svg /);
    expect(added.qr).not.toBe(added.qr_with_password);
    const waiting = await verb('add', 'ben', '--yes', '--wait', '0');
    expect(waiting.out).toContain(`mqtt://ben@${added.hosts[0]}:${port}`);
    expect(waiting.out).toContain('(shown only once)');

    const tried = async () =>
      (await (await fetch(`${hub.url}/api/phones/ana/test`, { method: 'POST' })).json()) as { result: string };
    expect(await tried()).toEqual({ result: 'not_connected' });
    const phone = await at(network ?? '', { username: 'ana', password: added.password });
    expect(await tried()).toEqual({ result: 'not_subscribed' });
    const lines: string[] = [];
    phone.on('message', (_topic, payload) => lines.push(payload.toString()));
    await phone.subscribeAsync('brinekeep/phone', { qos: 0 });
    expect(await tried()).toEqual({ result: 'without_acknowledgement' });
    await phone.subscribeAsync('brinekeep/phone', { qos: 1 });
    expect(await tried()).toEqual({ result: 'received' });
    await waitUntil('the line', () => lines.length >= 2);
    expect(lines.at(-1)).toContain('Test line for ana');
    expect((await verb('list')).out).toBe('ana\tlistens\nben\tnot connected\n');
    await boardIsHeard(25.2);
  });

  test('a phone that reads and never acknowledges is taken for one that is told', async () => {
    const added = await add('deaf');
    const deaf = await at(network ?? '', {
      ...{ username: 'deaf', password: added.password },
      // The client hands a message on and acknowledges it only after this.
      customHandleAcks: () => {},
      protocolVersion: 4,
    });
    deaf.handleMessage = () => {};
    await deaf.subscribeAsync('brinekeep/phone', { qos: 1 });
    const answer = await fetch(`${hub.url}/api/phones/deaf/test`, { method: 'POST' });
    expect(await answer.json()).toEqual({ result: 'not_acknowledged' });
    await deaf.endAsync(true);
  });

  test('somebody in the home network comes in without a password, or reads and commands more than a phone may', async () => {
    const { password } = await add('cleo');
    for (const login of [
      {},
      { username: 'cleo' },
      { username: 'cleo', password: '' },
      { username: 'cleo', password: 'wrong' },
      { username: 'nobody', password },
      { username: '', password: '' },
      { username: 'hub', password: '' },
    ])
      await expect(at(network ?? '', login)).rejects.toThrow(/Not authorized/);
    const phone = await at(network ?? '', { username: 'cleo', password });
    await phone.publishAsync('sump/t', '31', { qos: 1 });
    await boardIsHeard(25.3);
    // On this machine the name of a phone needs its password too.
    await expect(at('127.0.0.1', { username: 'cleo', password: 'wrong' })).rejects.toThrow(/Not authorized/);
  });

  test('the file holds a password, loses its remarks, or the hub would not start with it', async () => {
    const text = readFile(path);
    expect(text).toContain('# the room in the cellar');
    expect(text).toContain('# boards on this machine send here');
    expect(text).toContain(`  port: ${port} # as the boards have it`);
    const { broker } = configOf(text);
    expect(broker).toMatchObject({ host: '0.0.0.0', this_machine_without_password: true });
    const { password } = await add('dora');
    for (const { password_file } of configOf(readFile(path)).broker.users) {
      expect(readFile(password_file ?? '')).toMatch(/^\$scrypt\$/);
      expect(statSync(password_file ?? '').mode & 0o077).toBe(0);
    }
    expect(readFile(path)).not.toContain(password);
    type View = { file: { state: string }; editable: { last_change: { by: string } } };
    const view = await getJson<View>(`${hub.url}/api/configuration`);
    expect(view.file.state).toBe('as_started');
    expect(view.editable.last_change.by).toBe('command line');
    expect((await verb('add', 'dora', '--yes')).err).toContain('"dora" is a user of the broker already');
    expect((await verb('add', 'two words', '--yes')).code).toBe(1);
  });

  test('a phone that was removed still hears, comes back, or its name opens the door to the next one', async () => {
    const first = await add('eve');
    const phone = await at(network ?? '', {
      ...{ username: 'eve', password: first.password, clientId: 'eve', clean: false },
    });
    await phone.subscribeAsync('brinekeep/phone', { qos: 1 });
    const gone = new Promise<void>((resolve) => phone.once('close', () => resolve()));
    expect((await verb('remove', 'eve')).out).toBe('Phone eve removed.\n');
    await gone;
    await expect(at(network ?? '', { username: 'eve', password: first.password })).rejects.toThrow(/Not authorized/);
    expect(existsSync(join(scratch.dir, 'data', 'phones', 'eve'))).toBe(false);
    const second = await add('eve');
    expect(second.password).not.toBe(first.password);
    await expect(at(network ?? '', { username: 'eve', password: first.password })).rejects.toThrow(/Not authorized/);
    expect((await verb('remove', 'nobody')).err).toContain('No phone "nobody". You have: ana, ben');
  });

  test('closing leaves the door open, cuts the boards of this machine off, or forgets the phones', async () => {
    const { password } = await add('finn');
    const phone = await at(network ?? '', { username: 'finn', password });
    const gone = new Promise<void>((resolve) => phone.once('close', () => resolve()));
    expect((await verb('close')).out).toBe('The broker is open to this machine only.\n');
    await gone;
    await expect(at(network ?? '', { username: 'finn', password })).rejects.toThrow(/ECONNREFUSED/);
    await boardIsHeard(25.4);
    await (await at('127.0.0.1')).endAsync(true);
    expect(configOf(readFile(path)).broker.host).toBe('127.0.0.1');
    expect((await verb('list')).out).toContain('finn\tnot connected');
    // The next phone opens it again, and the one before is still known.
    await add('gus');
    await (await at(network ?? '', { username: 'finn', password })).endAsync(true);
    await boardIsHeard(25.5);
  });

  test('with the last phone gone the broker stays open to the network', async () => {
    const { phones: all } = await getJson<AnswerOf<'GET /api/phones'>>(`${hub.url}/api/phones`);
    for (const { name } of all.slice(1)) await verb('remove', name);
    const last = await verb('remove', all[0]?.name ?? '');
    expect(last.out).toContain('the broker is closed to the network again');
    await expect(at(network ?? '')).rejects.toThrow(/ECONNREFUSED/);
    await boardIsHeard(25.6);
    const { broker } = configOf(readFile(path));
    expect(broker).toMatchObject({ host: '127.0.0.1', users: [], this_machine_without_password: false });
    expect(readFile(path)).toContain('# as the boards have it');
  });
});
