import { readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import mqtt from 'mqtt';
import type { Browser } from 'playwright-core';
import { renderSVG } from 'uqr';
import { writeOver } from '#adapters/csv/write-over.ts';
import type { AnswerOf } from '#hub/api/contract.ts';
import { configFile } from '#hub/model/settings/config-file.ts';
import { freePort } from '../../servers/free-port.ts';
import { configOf, roomText, scratchRoom, startHubHere } from '../../servers/hub-process.ts';

export const phoneShots = ['phone-add', 'phone-added'] as const;

/** Invented: an address that is set aside for documents (RFC 5737, 3), the usual port, a password that opens nothing. */
const shown = { host: '192.0.2.10', port: 1883, password: 'aaaa-bbbb-cccc-dddd' };

/**
 * Pictures of a phone being added, at a hub of its own: the demo has no configuration file to write users into. What the page
 * shows of this machine is changed into invented values before it gets there.
 */
export async function takePhonePictures(browser: Browser, fileOf: (name: string) => string): Promise<void> {
  const scratch = scratchRoom();
  const path = join(scratch.dir, 'room.yaml');
  const port = await freePort();
  const text = roomText(scratch.dir, { http: { port: await freePort() }, broker: { port } });
  writeFileSync(path, text);
  const files = { env: {}, readFile: (file: string) => readFileSync(file, 'utf8'), writeFile: writeOver };
  const hub = await startHubHere(configOf(text), {}, undefined, { configFile: configFile(path, text, files) });
  const page = await browser.newPage({ viewport: { width: 360, height: 420 }, colorScheme: 'dark' });
  try {
    let password = '';
    await page.route('**/api/phones', async (route) => {
      const response = await route.fetch();
      const body = (await response.json()) as AnswerOf<'GET /api/phones'> | AnswerOf<'POST /api/phones'>;
      if ('password' in body) {
        password = body.password;
        const address = `mqtt://${body.user}@${shown.host}:${shown.port}`;
        Object.assign(body, { address, password: shown.password, qr: renderSVG(address), warnings: [] });
      }
      await route.fulfill({ response, json: { ...body, hosts: [shown.host], port: shown.port } });
    });
    await page.goto(`${hub.url}/#/phones`);
    await page.getByLabel('Name of the phone').fill('ana');
    await page.getByLabel(/Open the broker to the home network/).check();
    await page.screenshot({ path: fileOf('phone-add') });
    await page.getByRole('button', { name: 'Add phone' }).click();
    await page.locator('.phone-qr').waitFor();
    const app = await mqtt.connectAsync(`mqtt://127.0.0.1:${port}`, {
      username: 'ana',
      password,
      clean: false,
      clientId: 'ana',
    });
    await app.subscribeAsync('brinekeep/phone', { qos: 1 });
    await page.getByText('The phone received the test line.').waitFor();
    await page.getByText('listens').waitFor();
    await page.setViewportSize({ width: 360, height: 1200 });
    const shownOnce = page.locator('section').filter({ has: page.locator('.phone-qr') });
    const { y, height } = (await shownOnce.boundingBox()) ?? { y: 0, height: 900 };
    await page.screenshot({ path: fileOf('phone-added'), clip: { x: 0, y: y - 12, width: 360, height: height + 24 } });
    await app.endAsync();
  } finally {
    await page.close();
    await hub.stop();
    scratch.remove();
  }
}
