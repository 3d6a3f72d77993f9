import { execFileSync } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { afterAll, beforeAll, describe, expect, test, vi } from 'vitest';
import { fleetFilters, hubTopicKinds } from '#hub/outside/fleet/fleet-topics.ts';
import { isMissing } from '../machine/parts.mjs';
import { freePort } from '../servers/free-port.ts';
import { type MosquittoSub, mosquittoPub, mosquittoSub, shippedDelivery } from '../servers/mosquitto.ts';
import { patience, portAnswers, type ServerProcess, startProcess, waitUntil } from '../servers/server-process.ts';

// Many processes one after the other: slow on a loaded machine, and no time is asserted.
vi.setConfig({ testTimeout: 180_000 * patience(), hookTimeout: 180_000 * patience() });

/**
 * The real Mosquitto with the files of deploy/mosquitto as they are, but for folder and ports; a second one stands for the
 * keeper's broker outside. What MQTT 3.1.1 and the broker's manual promise is held against them: a refused publish is
 * acknowledged and not delivered (3.1.1, 3.3.5), a refused connection ends with code 5 (3.2.2.3).
 */

const files = fileURLToPath(new URL('../../deploy/mosquitto', import.meta.url));
const dir = mkdtempSync(join(tmpdir(), 'brinekeep-broker-files-'));
const at = (name: string) => join(dir, name);
const passwords = new Map<string, string>();
const servers: ServerProcess[] = [];
const subs: MosquittoSub[] = [];
const ports = { tls: 0, plain: 0, outside: 0 };

/** The file with its folder and ports changed to those of the test; each change must find what it changes. */
function deployed(name: string, changes: readonly [string, string][]): string {
  let text = readFileSync(join(files, name), 'utf8').replaceAll('/etc/mosquitto/brinekeep', dir);
  for (const [from, to] of changes) {
    expect(text, `${name} has no "${from}"`).toContain(from);
    text = text.replace(from, to);
  }
  return text;
}

async function startBroker(name: string, config: string, port: number): Promise<ServerProcess> {
  writeFileSync(at(name), `${config}\nuser root\nlog_type all\n`);
  const server = startProcess('mosquitto', ['-c', at(name)]);
  servers.push(server);
  await waitUntil(
    `${name} answers`,
    () => {
      if (!server.isRunning()) throw new Error(server.log());
      return portAnswers(port);
    },
    { explain: server.log },
  );
  return server;
}

function as(user: string): string[] {
  return ['--cafile', at('ca.crt'), '-u', user, '-P', passwords.get(user) ?? ''];
}

async function listen(port: number, topic: string, args: string[]): Promise<MosquittoSub> {
  const sub = await mosquittoSub(port, topic, args);
  subs.push(sub);
  return sub;
}

const saw = (sub: MosquittoSub, payload: string) => sub.lines().some((line) => line.endsWith(` ${payload}`));

describe.skipIf(isMissing('mosquitto') || isMissing('mosquitto_pub'))('the broker files', () => {
  let home: ServerProcess;

  test('a reader gets another broker than the one of the tests: later notices, a queue that ends after seconds', () => {
    const [roomMetrics, everySeconds, hourSeconds] = [200, 10, 3600];
    expect(shippedDelivery).toContain('set_tcp_nodelay true');
    const kept = Number(shippedDelivery.join('\n').match(/max_queued_messages (\d+)/)?.[1]);
    expect(kept).toBeGreaterThan((roomMetrics * hourSeconds) / everySeconds);
  });

  beforeAll(async () => {
    execFileSync(join(files, 'make-certificates.sh'), [dir, 'localhost', '127.0.0.1'], { stdio: 'pipe' });
    const users = ['hub', 'phone', 'sump-board', 'fishroom-home', 'hub-07', 'overview'];
    const told = execFileSync(join(files, 'make-users.sh'), [dir, ...users], { encoding: 'utf8' });
    for (const line of told.trim().split('\n')) passwords.set(...(line.split(' ') as [string, string]));
    for (const key of ['tls', 'plain', 'outside'] as const) ports[key] = await freePort();
    writeFileSync(at('brinekeep.acl'), deployed('brinekeep.acl', []));
    const tls = ['cafile', 'certfile', 'keyfile'].map(
      (key, index) => `${key} ${at(['ca.crt', 'server.crt', 'server.key'][index]!)}`,
    );
    await startBroker(
      'outside.conf',
      [`listener ${ports.outside} 127.0.0.1`, ...tls, 'allow_anonymous false', `password_file ${at('passwords')}`].join(
        '\n',
      ),
      ports.outside,
    );
    const bridge = deployed('bridge.conf', [
      ['address broker.example.org:8883', `address localhost:${ports.outside}`],
      ['remote_password CHANGE-ME', `remote_password ${passwords.get('fishroom-home')}`],
      ['bridge_capath /etc/ssl/certs', `bridge_cafile ${at('ca.crt')}`],
    ]);
    const room = deployed('brinekeep.conf', [
      ['listener 8883', `listener ${ports.tls} 127.0.0.1`],
      ['listener 1883 127.0.0.1', `listener ${ports.plain} 127.0.0.1`],
    ]);
    home = await startBroker('home.conf', `${room}\n${bridge}`, ports.tls);
  });

  afterAll(async () => {
    for (const sub of subs) await sub.stop();
    for (const server of servers) await server.end('SIGTERM');
    rmSync(dir, { recursive: true, force: true });
  });

  test('a stranger listens to the fish room', async () => {
    const refused = (args: string[]) => mosquittoPub(ports.tls, 'fishroom/sump-board/t', '25', { args });
    await expect(refused(['--cafile', at('ca.crt')])).rejects.toThrow(/not authori[sz]ed/i);
    await expect(refused(['--cafile', at('ca.crt'), '-u', 'phone', '-P', 'guessed'])).rejects.toThrow(
      /not authori[sz]ed/i,
    );
    await expect(mosquittoPub(ports.plain, 'fishroom/x', '25')).rejects.toThrow(/not authori[sz]ed/i);
  });

  test('a password crosses the network in the clear', async () => {
    const plain = ['-u', 'phone', '-P', passwords.get('phone')!];
    await expect(mosquittoPub(ports.tls, 'brinekeep/command', 'all well?', { args: plain })).rejects.toThrow();
    // The same words over TLS are taken.
    await mosquittoPub(ports.tls, 'brinekeep/command', 'all well?', { args: as('phone') });
  });

  test('a probe cannot say what it measures, or can command the hub', async () => {
    const hub = await listen(ports.tls, 'fishroom/#', [...as('hub'), '-t', 'brinekeep/#']);
    await mosquittoPub(ports.tls, 'brinekeep/command', 'acknowledge all', { args: as('sump-board') });
    await mosquittoPub(ports.tls, 'fishroom/other-board/t', '99', { args: as('sump-board') });
    await mosquittoPub(ports.tls, 'fishroom/sump-board/t', '25.31', { args: as('sump-board') });
    await waitUntil('the reading arrives', () => saw(hub, '25.31'), { explain: home.log });
    // Sent before the reading over the same broker: what was to come has come.
    expect(saw(hub, 'acknowledge all')).toBe(false);
    expect(saw(hub, '99')).toBe(false);
  });

  test('the phone hears no notice, or can speak for a probe', async () => {
    const phone = await listen(ports.tls, 'brinekeep/phone/#', as('phone'));
    const hub = await listen(ports.tls, 'fishroom/#', [...as('hub'), '-t', 'brinekeep/command']);
    await mosquittoPub(ports.tls, 'brinekeep/phone', 'Display: temperature high', { args: as('hub') });
    await waitUntil('the notice arrives', () => saw(phone, 'Display: temperature high'), { explain: home.log });
    await mosquittoPub(ports.tls, 'fishroom/sump-board/t', '30', { args: as('phone') });
    await mosquittoPub(ports.tls, 'brinekeep/phone', 'all is well, really', { args: as('phone') });
    await mosquittoPub(ports.tls, 'brinekeep/command', 'acknowledge all', { args: as('phone') });
    await waitUntil('the command arrives', () => saw(hub, 'acknowledge all'), { explain: home.log });
    expect(saw(hub, '30')).toBe(false);
    expect(saw(phone, 'all is well, really')).toBe(false);
  });

  test('the overview of a farm misses what a hub says of itself, or can command and enter there', async () => {
    const kinds = [...hubTopicKinds];
    const filters = fleetFilters(['farm/+']).flatMap((filter) => ['-t', filter]);
    const overview = await listen(ports.tls, 'farm/+/command', [...as('overview'), ...filters, '-t', 'farm/+/enter/#']);
    const hub = await listen(ports.tls, 'farm/#', as('hub-07'));
    const own = (rest: string) => `farm/hub-07/${rest}`;
    // Neither is to arrive: sent before what is waited for, over the same broker.
    await mosquittoPub(ports.tls, own('command'), 'acknowledge all', { args: as('overview') });
    await mosquittoPub(ports.tls, own('enter/test'), 'an alkalinity', { args: as('overview') });
    await mosquittoPub(ports.tls, own('status'), 'said for another', { args: as('overview') });
    await mosquittoPub(ports.tls, own('enter/test'), 'entered at home', { args: as('hub-07') });
    await mosquittoPub(ports.tls, 'farm/overview/status', 'said by hub-07', { args: as('hub-07') });
    for (const kind of kinds) {
      const rest = ['alarms', 'readings'].includes(kind) ? `${kind}/display/temperature` : kind;
      await mosquittoPub(ports.tls, own(rest), `told ${kind}`, { args: as('hub-07') });
    }
    const missing = () => kinds.filter((kind) => !saw(overview, `told ${kind}`));
    await waitUntil('all of it is heard', () => missing().length === 0, { explain: () => missing().join(', ') });
    for (const never of ['acknowledge all', 'an alkalinity', 'said for another'])
      expect([never, saw(hub, never)]).toEqual([never, false]);
    expect(saw(hub, 'entered at home')).toBe(true);
    expect(saw(overview, 'entered at home')).toBe(false);
    expect(saw(overview, 'said by hub-07')).toBe(false);
  });

  test('away from home the phone hears nothing, or its acknowledgement stays outside', async () => {
    const outside = await listen(ports.outside, 'brinekeep/phone/#', as('fishroom-home'));
    const hub = await listen(ports.tls, 'brinekeep/command', as('hub'));
    const bridge = await listen(ports.outside, 'brinekeep/bridge', as('fishroom-home'));
    await waitUntil('the bridge stands', () => saw(bridge, '1'), { explain: home.log });
    await mosquittoPub(ports.tls, 'brinekeep/phone', 'Display: pH low', { args: as('hub') });
    await waitUntil('the notice is outside', () => saw(outside, 'Display: pH low'), { explain: home.log });
    await mosquittoPub(ports.outside, 'brinekeep/command', 'acknowledge pH', { args: as('fishroom-home') });
    await waitUntil('the answer is at home', () => saw(hub, 'acknowledge pH'), { explain: home.log });
    // Readings stay at home.
    expect(readFileSync(join(files, 'bridge.conf'), 'utf8')).not.toMatch(/^topic fishroom/m);
  });
});
