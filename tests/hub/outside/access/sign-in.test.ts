import { readFileSync, statSync, truncateSync } from 'node:fs';
import { request } from 'node:http';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, test, vi } from 'vitest';
import type { Hub } from '#hub/room/hub.ts';
import { configOf, roomText, scratchRoom, startHubHere } from '../../../servers/hub-process.ts';
import { patience } from '../../../servers/server-process.ts';
import { type Asked, ask, problemIn } from '../../http/ask.ts';
import { lockRoom, passphrase } from './locked-room.ts';

// Slow on a loaded machine, and no time is asserted.
vi.setConfig({ testTimeout: 120_000 * patience(), hookTimeout: 120_000 * patience() });

const tokens = (['read', 'enter', 'admin'] as const).map((scope) => ({
  ...{ name: `for ${scope}`, scope },
  token: `brine_${scope}-${'x'.repeat(40)}`,
}));
const [reader, enterer, admin] = tokens.map(({ token }) => ({ authorization: `Bearer ${token}` }));
const aTest = { system: 'display', analyte: 'alkalinity', value: 8.2 };

describe('a hub with a passphrase', () => {
  const scratch = scratchRoom();
  let hub: Hub;

  const start = async () => {
    hub = await startHubHere(configOf(roomText(scratch.dir)));
  };
  const at = (path: string, asked: Asked = {}) => ask(hub.url, path, asked);
  /** As a browser sends it from the hub's own page. */
  const fromPage = (cookie?: string) => ({ origin: hub.url, ...(cookie === undefined ? {} : { cookie }) });
  async function signIn(): Promise<string> {
    const answer = await at('/api/session', { body: { passphrase }, headers: fromPage() });
    expect(answer.status).toBe(204);
    return String([answer.headers['set-cookie']].flat()[0]).split(';')[0]!;
  }
  /** A live stream that is open; resolves when it ends. */
  async function openStream(cookie: string): Promise<{ ended: Promise<void> }> {
    const { hostname, port } = new URL(hub.url);
    return new Promise((resolve, reject) => {
      const sent = request({ hostname, port, path: '/api/live', headers: { cookie }, agent: false }, (response) => {
        expect(response.statusCode).toBe(200);
        const ended = new Promise<void>((over) => response.on('close', () => over()).on('error', () => over()));
        response.once('data', () => resolve({ ended }));
      });
      sent.on('error', reject);
      sent.end();
    });
  }

  beforeAll(async () => {
    await lockRoom(scratch.dir, tokens);
    await start();
  });
  afterAll(async () => {
    await hub?.stop();
    scratch.remove();
  });

  test('a stranger on the network reads the room, enters a test, or watches the live stream', async () => {
    for (const path of ['/api/room', '/api/live', '/api/entries', '/api/alarms', '/openapi.json']) {
      const answer = await at(path);
      problemIn(answer, 401);
      // Not Basic: the browser would ask with a window of its own.
      expect(answer.headers['www-authenticate']).toMatch(/^Bearer /);
    }
    problemIn(await at('/api/tests', { body: aTest }), 401);
    problemIn(await at('/api/room', { headers: { authorization: `Bearer brine_${'y'.repeat(43)}` } }), 401);
    problemIn(await at('/api/room', { headers: { cookie: 'brinekeep-session-0=guessed' } }), 401);
  });

  test('a route that nobody thought of is open to strangers', async () => {
    const { paths } = (await at('/openapi.json', { headers: reader! })).json<{
      paths: Record<string, Record<string, unknown>>;
    }>();
    const open: string[] = [];
    for (const [path, methods] of Object.entries(paths)) {
      for (const method of Object.keys(methods)) {
        const address = path.replaceAll(/\{[^}]*\}/g, '1');
        const answer = await at(address, { method: method.toUpperCase() });
        if (answer.status !== 401) open.push(`${method} ${path}`);
      }
    }
    expect(open.filter((route) => !/ \/(health|health\/alive|health\/ready|api\/session)$/.test(route))).toEqual([]);
    expect(open).toContain('get /health');
  });

  test('without a sign-in /health tells more than that the hub is alive', async () => {
    expect(Object.keys((await at('/health')).json())).toEqual(['status']);
    expect(Object.keys((await at('/health', { headers: reader! })).json())).toContain('edges');
  });

  test('a script with a token for reading changes something, or one for entries recalibrates a probe', async () => {
    expect((await at('/api/room', { headers: reader! })).status).toBe(200);
    expect(problemIn(await at('/api/tests', { body: aTest, headers: reader! }), 403).detail).toContain('enter');
    expect((await at('/api/tests', { body: aTest, headers: enterer! })).status).toBe(201);
    const calibration = { kind: 'linear', probe: 'none', by: 'Ana', why: 'a test', slope: 1, offset: 0 };
    problemIn(await at('/api/calibrations', { body: calibration, headers: enterer! }), 403);
    expect([400, 404, 422]).toContain((await at('/api/calibrations', { body: calibration, headers: admin! })).status);
    problemIn(await at('/api/sessions', { method: 'DELETE', headers: enterer! }), 403);
  });

  test('the cookie of a sign-in can be read by a script of the page, goes to other sites, or is kept in clear', async () => {
    const answer = await at('/api/session', { body: { passphrase }, headers: fromPage() });
    const cookie = String([answer.headers['set-cookie']].flat()[0]);
    expect(cookie).toMatch(/; HttpOnly/);
    expect(cookie).toMatch(/; SameSite=Strict/);
    expect(cookie).toMatch(/; Max-Age=2592000/);
    const secret = /^brinekeep-session-\d+=([A-Za-z0-9_-]+);/.exec(cookie)?.[1] ?? '';
    expect(Buffer.from(secret, 'base64url')).toHaveLength(32);
    for (const name of ['sessions.json', 'access.json']) {
      const file = join(scratch.dir, 'data', name);
      expect((statSync(file).mode & 0o777).toString(8)).toBe('600');
      expect(readFileSync(file, 'utf8')).not.toContain(secret);
    }
  });

  test('a page of another site enters a test through the browser of somebody who is signed in', async () => {
    const cookie = await signIn();
    const enter = (headers: Record<string, string>) =>
      at('/api/tests', { body: aTest, headers: { cookie, ...headers } });
    expect((await enter({ origin: hub.url })).status).toBe(201);
    expect((await enter({ 'sec-fetch-site': 'same-origin' })).status).toBe(201);
    const { port } = new URL(hub.url);
    for (const headers of [
      { origin: 'https://evil.example' },
      { origin: 'null' },
      { origin: `http://127.0.0.1:${Number(port) + 1}` },
      { origin: `http://localhost:${port}` },
      { 'sec-fetch-site': 'cross-site' },
      { 'sec-fetch-site': 'same-site', origin: hub.url },
      // No browser sends a cookie and keeps silent about where from.
      {},
    ] as Record<string, string>[]) {
      problemIn(await enter(headers), 403);
    }
    for (const type of ['text/plain', 'application/x-www-form-urlencoded', 'multipart/form-data; boundary=x']) {
      const answer = await at('/api/tests', {
        raw: JSON.stringify(aTest),
        headers: { cookie, origin: hub.url, 'content-type': type },
      });
      problemIn(answer, 415);
    }
    problemIn(await at('/api/session', { body: { passphrase }, headers: { origin: 'https://evil.example' } }), 403);
  });

  test('a sign-in is lost when the hub starts anew, or outlives a sign-out', async () => {
    const [cookie, other] = [await signIn(), await signIn()];
    const { ended } = await openStream(cookie);
    const out = await at('/api/session', { method: 'DELETE', headers: fromPage(cookie) });
    expect(out.status).toBe(204);
    expect([out.headers['set-cookie']].flat().join()).toMatch(/brinekeep-session-\d+=;.*Max-Age=0/);
    await ended;
    problemIn(await at('/api/room', { headers: { cookie } }), 401);
    await hub.stop();
    await start();
    problemIn(await at('/api/room', { headers: { cookie } }), 401);
    expect((await at('/api/room', { headers: { cookie: other } })).status).toBe(200);
  });

  test('a stolen phone stays signed in after a sign-out everywhere, or a script loses its token by that', async () => {
    const [mine, stolen] = [await signIn(), await signIn()];
    const { ended } = await openStream(stolen);
    expect((await at('/api/sessions', { method: 'DELETE', headers: fromPage(mine) })).status).toBe(204);
    await ended;
    problemIn(await at('/api/room', { headers: { cookie: stolen } }), 401);
    problemIn(await at('/api/room', { headers: { cookie: mine } }), 401);
    expect((await at('/api/room', { headers: reader! })).status).toBe(200);
  });

  test('a revoked token, or a former passphrase, goes on opening the hub until it is started anew', async () => {
    const cookie = await signIn();
    await lockRoom(scratch.dir, tokens.slice(1));
    problemIn(await at('/api/room', { headers: reader! }), 401);
    expect((await at('/api/room', { headers: enterer! })).status).toBe(200);
    problemIn(await at('/api/room', { headers: { cookie } }), 401);
    await lockRoom(scratch.dir, tokens);
    expect((await at('/api/room', { headers: reader! })).status).toBe(200);
  });

  test('a list of words is tried out against the passphrase, or the keeper is not told how long to wait', async () => {
    const guess = () => at('/api/session', { body: { passphrase: 'a guess of many words' }, headers: fromPage() });
    let refused = await guess();
    let tries = 1;
    for (; refused.status !== 429 && tries < 7; tries += 1) {
      expect(problemIn(refused, 401).type).toBe('urn:brinekeep:problem:wrong_passphrase');
      refused = await guess();
    }
    // Five a minute, of which those who signed in before have taken some.
    expect(tries).toBeLessThanOrEqual(6);
    expect(problemIn(refused, 429).detail).toMatch(/Wait \d+ seconds/);
    expect(Number(refused.headers['retry-after'])).toBeGreaterThan(0);
    expect(Number(refused.headers['retry-after'])).toBeLessThanOrEqual(60);
    // The right one waits as well: else the answer would tell which it is.
    problemIn(await at('/api/session', { body: { passphrase }, headers: fromPage() }), 429);
    // Whoever has a token is not held up.
    expect((await at('/api/room', { headers: reader! })).status).toBe(200);
  });
});

describe('a hub without a passphrase', () => {
  test('it is opened to the network, or goes without a word about why not', async () => {
    const scratch = scratchRoom();
    const hub = await startHubHere(configOf(roomText(scratch.dir, { http: { host: '0.0.0.0', port: 0 } })));
    try {
      expect(hub.refused).toContain('brinekeep passphrase');
      expect(new URL(hub.url).hostname).toBe('127.0.0.1');
      const { port } = new URL(hub.url);
      const other = await fetch(`http://127.0.0.2:${port}/api/room`).catch(() => 'refused');
      expect(other).toBe('refused');
      // On the machine itself all works as without a lock.
      expect((await ask(hub.url, '/api/tests', { body: aTest })).status).toBe(201);
      const { needed } = (await ask(hub.url, '/api/session')).json<{ needed: boolean }>();
      expect(needed).toBe(false);
      // A passphrase that is set meanwhile counts at once, also for a stream that is open.
      await lockRoom(scratch.dir);
      problemIn(await ask(hub.url, '/api/room'), 401);
    } finally {
      await hub.stop();
      scratch.remove();
    }
  });

  test('a hub whose file of hashes is damaged takes that for no passphrase and lets everybody in', async () => {
    const scratch = scratchRoom();
    await lockRoom(scratch.dir);
    const file = join(scratch.dir, 'data', 'access.json');
    truncateSync(file, 60);
    const hub = await startHubHere(configOf(roomText(scratch.dir)));
    // It watches the room, and the door stays shut.
    expect((await fetch(`${hub.url}/health/ready`)).status).toBe(200);
    problemIn(await ask(hub.url, '/api/room'), 401);
    problemIn(await ask(hub.url, '/api/session', { body: { passphrase } }), 401);
    await hub.stop();
    scratch.remove();
  });
});

describe('names of the hub', () => {
  test('a name that somebody pointed at the hub is served, or a configured one is not', async () => {
    const scratch = scratchRoom();
    await lockRoom(scratch.dir, tokens);
    const http = { host: '0.0.0.0', port: 0, names: ['reef.home.arpa'] };
    const hub = await startHubHere(configOf(roomText(scratch.dir, { http })));
    try {
      const { port } = new URL(hub.url);
      const base = `http://127.0.0.1:${port}`;
      expect(hub.url).toBe(`http://reef.home.arpa:${port}`);
      const by = (host: string) => ask(base, '/api/room', { headers: { ...reader!, host } });
      for (const host of [
        `reef.home.arpa:${port}`,
        'REEF.home.arpa',
        `127.0.0.1:${port}`,
        'localhost',
        `[::1]:${port}`,
      ]) {
        expect((await by(host)).status).toBe(200);
      }
      for (const host of ['evil.example', 'reef.home.arpa.evil.example', 'home.arpa', '192.0.2.7']) {
        expect((await by(host)).status, host).toBeOneOf([400, 403]);
      }
      // The very address at which it is reached needs no configuration.
      const there = await ask(`http://127.0.0.2:${port}`, '/api/room', { headers: { ...reader!, host: '127.0.0.2' } });
      expect(there.status).toBe(200);
    } finally {
      await hub.stop();
      scratch.remove();
    }
  });
});
