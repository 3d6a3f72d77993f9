import { readFileSync, writeFileSync } from 'node:fs';
import { networkInterfaces } from 'node:os';
import { join } from 'node:path';
import mqtt, { type MqttClient } from 'mqtt';
import type { Browser, Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, test, vi } from 'vitest';
import { writeOver } from '#adapters/csv/write-over.ts';
import { configFile } from '#hub/model/settings/config-file.ts';
import type { Hub } from '#hub/room/hub.ts';
import {
  buildPage,
  expectSoon,
  expectSound,
  listenForFaults,
  looks,
  openBrowser,
  phone,
} from '../../browser/page-kit.ts';
import { pictureOfTerminal, qrTextsIn } from '../../browser/qr-code.ts';
import { isMissing } from '../../machine/parts.mjs';
import { freePort } from '../../servers/free-port.ts';
import { configOf, roomText, scratchRoom, startHubHere } from '../../servers/hub-process.ts';
import { type Mosquitto, startMosquitto } from '../../servers/mosquitto.ts';
import { patience } from '../../servers/server-process.ts';
import { verbHere } from '../cli/verb-here.ts';
import { lockRoom, passphrase } from '../outside/access/locked-room.ts';

vi.setConfig({ testTimeout: 120_000 * patience(), hookTimeout: 120_000 * patience() });

/** Another address of this machine, where there is one: to the broker whoever comes by it is a stranger of the network. */
const network =
  Object.values(networkInterfaces())
    .flatMap((each) => each ?? [])
    .find(({ family, internal }) => family === 'IPv4' && !internal)?.address ?? '127.0.0.1';

const readFile = (file: string) => readFileSync(file, 'utf8');

describe.skipIf(isMissing('chromium') || isMissing('zbarimg'))('the page about phones, in a browser', () => {
  const scratch = scratchRoom();
  const path = join(scratch.dir, 'room.yaml');
  const tokens = {
    read: `brine_${'r'.repeat(43)}`,
    enter: `brine_${'e'.repeat(43)}`,
    admin: `brine_${'a'.repeat(43)}`,
  };
  let faults: string[] = [];
  let port = 0;
  let hub: Hub;
  let browser: Browser;
  let page: Page;
  const clients: MqttClient[] = [];

  const connect = async (host: string, username: string, password: string) => {
    const client = await mqtt.connectAsync(`mqtt://${host}:${port}`, { reconnectPeriod: 0, username, password });
    clients.push(client);
    return client;
  };
  const place = async (name: string) =>
    (await page
      .locator('.phone-place > div', { has: page.getByText(name, { exact: true }) })
      .locator('code')
      .textContent()) ?? '';
  const inTheCode = async () => qrTextsIn(await page.locator('.phone-qr').screenshot(), 'png');
  const add = async (name: string) => {
    await page.getByLabel('Name of the phone').fill(name);
    await page.getByRole('button', { name: 'Add phone' }).click();
  };

  beforeAll(async () => {
    await buildPage(join(scratch.dir, 'page'));
    await lockRoom(
      scratch.dir,
      (['read', 'enter', 'admin'] as const).map((scope) => ({ name: scope, scope, token: tokens[scope] })),
    );
    port = await freePort();
    const text = roomText(scratch.dir, { http: { port: await freePort() }, broker: { port } });
    writeFileSync(path, text);
    const file = configFile(path, text, { env: {}, readFile, writeFile: writeOver });
    hub = await startHubHere(configOf(text), {}, join(scratch.dir, 'page'), { configFile: file });
    browser = await openBrowser();
    page = await browser.newPage({ viewport: phone, colorScheme: 'dark' });
    page.setDefaultTimeout(20_000 * patience());
    faults = listenForFaults(page);
    await page.goto(hub.url);
    await page.locator('#passphrase').fill(passphrase);
    await page.keyboard.press('Enter');
    await page.getByRole('heading', { name: 'Fish room (invented)' }).waitFor();
    await page.goto(`${hub.url}/#/phones`);
    await page.getByRole('button', { name: 'Add phone' }).waitFor();
  });

  afterAll(async () => {
    for (const client of clients) await client.endAsync(true);
    await browser?.close();
    await hub?.stop();
    scratch.remove();
  });

  test('whoever may only read or enter sees the phones, makes one, removes one or opens the broker', async () => {
    const asked = async (token: string, method: string, route: string, body?: object) => {
      const headers = { authorization: `Bearer ${token}`, 'content-type': 'application/json' };
      return (await fetch(`${hub.url}${route}`, { method, headers, ...(body && { body: JSON.stringify(body) }) }))
        .status;
    };
    const routes = [
      ['GET', '/api/phones'],
      ['POST', '/api/phones', { name: 'ana', open: true }],
      ['POST', '/api/phones/ana/test', {}],
      ['DELETE', '/api/phones/ana'],
      ['POST', '/api/phones/close', {}],
    ] as const;
    for (const [method, route, body] of routes) {
      const statuses = [tokens.read, tokens.enter].map((token) => asked(token, method, route, body));
      expect({ method, route, statuses: await Promise.all(statuses) }).toEqual({ method, route, statuses: [403, 403] });
      const stranger = await fetch(`${hub.url}${route}`, {
        method,
        headers: { 'content-type': 'application/json' },
        ...(body && { body: JSON.stringify(body) }),
      });
      expect({ method, route, status: stranger.status }).toEqual({ method, route, status: 401 });
    }
    expect(await asked(tokens.admin, 'GET', '/api/phones')).toBe(200);
    expect(configOf(readFile(path)).broker.users).toEqual([]);
  });

  test('the broker is opened without being asked', async () => {
    await add('ana');
    // The browser itself holds the form back until the box is ticked.
    expect(
      await page
        .getByLabel(/Open the broker to the home network/)
        .evaluate((box: HTMLInputElement) => box.validity.valueMissing),
    ).toBe(true);
    expect(await page.locator('.phone-place').count()).toBe(0);
    await expect(connect(network, 'ana', 'x')).rejects.toThrow();
  });

  test('what the page shows does not let the phone in, or the code says something else than the page', async () => {
    await page.getByLabel(/Open the broker to the home network/).check();
    await add('ana');
    await page.locator('.phone-qr').waitFor();
    const [host = ''] = (await place('Host')).split(' or ');
    const password = await place('Password');
    expect({ port: await place('Port'), user: await place('User'), topic: await place('Topic') }).toEqual({
      ...{ port: `${port}`, user: 'ana', topic: 'brinekeep/phone, QoS 1' },
    });
    expect(await inTheCode()).toEqual([`mqtt://ana@${host}:${port}`]);
    await page.getByLabel('Password in the QR code').check();
    await page.getByAltText('QR code of the address with the password').waitFor();
    const [whole = ''] = await inTheCode();
    expect(whole).toBe(`mqtt://ana:${password}@${host}:${port}`);
    for (const { size, scheme } of looks) {
      await page.setViewportSize(size);
      await page.emulateMedia({ colorScheme: scheme });
      await expectSound(page);
      expect(await inTheCode()).toEqual([whole]);
    }
    await page.setViewportSize(phone);

    // The app is given what the camera read, and nothing else; the host by which this machine is reached here.
    const read = new URL(whole.replace(/^mqtt:/, 'http:'));
    const result = page.locator('[data-phone-result]');
    await expectSoon(() => result.textContent()).toBe('Waiting for the phone …');
    const app = await connect(network, read.username, read.password);
    const lines: string[] = [];
    app.on('message', (_topic, line) => lines.push(line.toString()));
    await expectSoon(() => result.textContent()).toContain('Subscribe to the topic');
    await app.subscribeAsync('brinekeep/phone', { qos: 1 });
    await expectSoon(() => result.textContent()).toBe('The phone received the test line.');
    expect(lines.join()).toContain('Test line for ana');
    await expectSoon(() => page.locator('.phones li').textContent()).toMatch(/^ana\s+listens/);
  });

  test('the code on the terminal cannot be read by a camera', async () => {
    const environment = join(scratch.dir, 'token');
    writeFileSync(environment, tokens.admin);
    for (const [name, flags] of [
      ['ben', []],
      ['cleo', ['--qr-with-password']],
    ] as const) {
      const ended = await verbHere([
        ...['phone', 'add', name, '--config', path, '--token-file', environment, '--wait', '0', ...flags],
      ]);
      expect(ended.code, ended.err).toBe(0);
      const lines = ended.out.split('\n');
      const code = lines.filter((line) => /^[█▀▄ ]{20,}$/.test(line));
      const address = lines.find((line) => line.startsWith('mqtt://'));
      expect(address).toContain(name);
      expect(qrTextsIn(pictureOfTerminal(code), 'pbm')).toEqual([address]);
    }
  });

  test('a phone that was removed stays connected, or its place is still shown', async () => {
    await page.reload();
    const list = () => page.locator('.phones li b').allTextContents();
    await expectSoon(list).toEqual(['ana', 'ben', 'cleo']);
    const gone = new Promise<void>((resolve) => clients[0]?.once('close', () => resolve()));
    await page.getByRole('button', { name: 'Remove ana' }).click();
    await page.getByText('Phone ana removed.').waitFor();
    await gone;
    await expectSoon(list).toEqual(['ben', 'cleo']);
    await add('ben');
    await page.getByText('Name already taken').waitFor();
  });

  test('closing leaves the broker open to the network', async () => {
    await page.getByRole('button', { name: 'Close the broker to the home network' }).click();
    await page.getByText('The broker is open to this machine only.').waitFor();
    if (network !== '127.0.0.1') await expect(connect(network, 'ben', 'x')).rejects.toThrow(/ECONNREFUSED/);
    expect(configOf(readFile(path)).broker.host).toBe('127.0.0.1');
    await page.getByLabel(/Open the broker to the home network/).waitFor();
    expect(faults).toEqual([]);
  });
});

describe.skipIf(isMissing('chromium') || isMissing('mosquitto'))('phones with a broker outside the hub', () => {
  const scratch = scratchRoom();
  const path = join(scratch.dir, 'room.yaml');
  let mosquitto: Mosquitto;
  let hub: Hub;
  let browser: Browser;
  let page: Page;

  beforeAll(async () => {
    await buildPage(join(scratch.dir, 'page'));
    mosquitto = await startMosquitto();
    const text = roomText(scratch.dir, {
      http: { port: await freePort() },
      mqtt: { url: `mqtt://127.0.0.1:${mosquitto.port}`, prefix: 'reef' },
    });
    writeFileSync(path, text);
    hub = await startHubHere(configOf(text), {}, join(scratch.dir, 'page'));
    browser = await openBrowser();
    page = await browser.newPage({ viewport: phone, colorScheme: 'light' });
    await page.goto(`${hub.url}/#/phones`);
  });

  afterAll(async () => {
    await browser?.close();
    await hub?.stop();
    await mosquitto?.stop();
    scratch.remove();
  });

  test('the page makes a user that is none, or does not say what to put into the other broker', async () => {
    await page.getByText('is outside the hub: make a user for the phone there').waitFor();
    expect(await page.getByRole('button', { name: 'Add phone' }).count()).toBe(0);
    const rules = (await page.locator('.phone-rules').textContent()) ?? '';
    expect(rules).toContain('user NAME');
    await expectSound(page, 3);

    const said = await verbHere(['phone', 'add', 'ana', '--config', path]);
    expect(said.code, said.err).toBe(0);
    // The page and the verb say the same.
    for (const line of rules.split('\n').filter((each) => /^(user|topic) /.test(each)))
      expect(said.out).toContain(`  ${line.replace('NAME', 'ana')}\n`);
  });

  test('with those lines the phone hears nothing, or may say more than it should', async () => {
    const acl = join(scratch.dir, 'acl');
    const rules = ((await page.locator('.phone-rules').textContent()) ?? '')
      .split('\n')
      .filter((each) => /^(user|topic) /.test(each))
      .map((each) => each.replace('NAME', 'ana'));
    writeFileSync(acl, `topic readwrite #\n${rules.join('\n')}\n`);
    await mosquitto.restart(`acl_file ${acl}`);
    const app = await mqtt.connectAsync(`mqtt://127.0.0.1:${mosquitto.port}`, { username: 'ana', reconnectPeriod: 0 });
    const heard: { topic: string; line: string }[] = [];
    app.on('message', (topic, line) => heard.push({ topic, line: line.toString() }));
    const lines = () => heard.filter(({ topic }) => topic === 'reef/phone').map(({ line }) => line);
    await app.subscribeAsync(['reef/phone', 'reef/status', 'sump/#'], { qos: 1 });
    // The hub comes back to the broker in its own time.
    await expectSoon(async () => {
      await app.publishAsync('reef/command', 'all well?', { qos: 1 });
      return [...new Set(heard.map(({ topic }) => topic))].sort();
    }).toEqual(['reef/phone', 'reef/status']);
    // What is not in the lines the broker keeps from the phone.
    await app.publishAsync('reef/phone', 'not from the hub', { qos: 1 });
    await app.publishAsync('reef/command', 'today?', { qos: 1 });
    await expectSoon(() => lines().some((line) => line.startsWith('Today'))).toBe(true);
    expect(lines()).not.toContain('not from the hub');
    await app.endAsync(true);
  });
});
