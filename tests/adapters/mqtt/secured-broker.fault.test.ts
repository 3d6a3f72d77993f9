import { execFileSync } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, expect, test, vi } from 'vitest';
import { type Mosquitto, mosquittoPub, startMosquitto } from '../../servers/mosquitto.ts';
import { patience, waitUntil } from '../../servers/server-process.ts';
import { type Bench, createBench } from './mqtt-bench.ts';

// Slow on a loaded machine, and no time is asserted.
vi.setConfig({ testTimeout: 120_000 * patience(), hookTimeout: 120_000 * patience() });

/** A real mosquitto that speaks TLS with a certificate of its own making and wants a password. */
let mosquitto: Mosquitto;
let dir: string;
let ca: Buffer;
const benches: Bench[] = [];

beforeAll(async () => {
  dir = mkdtempSync(join(tmpdir(), 'brinekeep-tls-'));
  const at = (name: string) => join(dir, name);
  const run = (command: string, ...args: string[]) => execFileSync(command, args, { stdio: 'pipe' });
  run(
    'openssl',
    ...['req', '-x509', '-newkey', 'ec', '-pkeyopt', 'ec_paramgen_curve:prime256v1', '-nodes', '-days', '1'],
    ...['-subj', '/CN=127.0.0.1', '-addext', 'subjectAltName=IP:127.0.0.1', '-keyout', at('key'), '-out', at('cert')],
  );
  run('mosquitto_passwd', '-c', '-b', at('passwords'), 'hub', 'a secret');
  ca = readFileSync(at('cert'));
  mosquitto = await startMosquitto({
    listener: (port) =>
      [
        `listener ${port} 127.0.0.1`,
        `certfile ${at('cert')}`,
        `keyfile ${at('key')}`,
        'allow_anonymous false',
        `password_file ${at('passwords')}`,
      ].join('\n'),
  });
});

afterAll(async () => {
  for (const bench of benches) await bench.edge.stop();
  await mosquitto?.stop();
  rmSync(dir, { recursive: true, force: true });
});

function hub(clientId: string, password: string, tls: { ca?: Buffer }): Bench {
  const url = `mqtts://127.0.0.1:${mosquitto.port}`;
  const bench = createBench(mosquitto.port, { url, clientId, username: 'hub', password, tls });
  benches.push(bench);
  return bench;
}

test('with the right password and authority the probe is heard', async () => {
  const bench = hub('right', 'a secret', { ca });
  await bench.startedUp();
  await mosquittoPub(mosquitto.port, 'room/ph', '8.12', {
    args: ['--cafile', join(dir, 'cert'), '-u', 'hub', '-P', 'a secret'],
  });
  await waitUntil('it is heard', () => bench.values().length === 1);
});

test('a broker that cannot prove who it is gets neither the password nor a reading', async () => {
  const bench = hub('unproved', 'a secret', {});
  await bench.edge.start();
  await waitUntil('it is told', () => bench.ups().length === 1);
  expect(bench.edge.state()).toMatchObject({ isUp: false, counts: { connected: 0 } });
  expect(bench.changes[0]?.detail).toMatch(/certificate/i);
});

test('a wrong password is told, without the password', async () => {
  const bench = hub('wrong', 'no secret at all', { ca });
  await bench.edge.start();
  await waitUntil('it is told', () => bench.ups().length === 1);
  expect(bench.changes[0]?.detail).toMatch(/refused/i);
  expect(JSON.stringify([bench.changes, bench.edge.state()])).not.toContain('no secret at all');
});
