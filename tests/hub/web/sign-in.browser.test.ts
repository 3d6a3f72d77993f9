import { join } from 'node:path';
import type { Browser, Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import type { KeptEntry } from '#adapters/ports/store.ts';
import type { Hub } from '#hub/room/hub.ts';
import { buildPage, expectSound, listenForFaults, looks, openBrowser, phone, tabTo } from '../../browser/page-kit.ts';
import { isMissing } from '../../machine/parts.mjs';
import { freePort } from '../../servers/free-port.ts';
import { configOf, roomText, scratchRoom, startHubHere } from '../../servers/hub-process.ts';
import { waitUntil } from '../../servers/server-process.ts';
import { lockRoom, passphrase } from '../outside/access/locked-room.ts';

const token = `brine_${'r'.repeat(43)}`;

describe.skipIf(isMissing('chromium'))('the sign-in in a browser', { timeout: 120_000 }, () => {
  const scratch = scratchRoom();
  let faults: string[] = [];
  let port: number;
  let hub: Hub;
  let browser: Browser;
  let page: Page;

  const start = async () => {
    const text = roomText(scratch.dir, { http: { port } });
    hub = await startHubHere(configOf(text), {}, join(scratch.dir, 'page'));
  };
  const title = () => page.getByRole('heading', { name: 'Sign in' });
  const inTheRoom = () => page.getByRole('heading', { name: 'Fish room (invented)' });
  async function typeIn(text: string): Promise<void> {
    await page.locator('#passphrase:focus').waitFor();
    await page.keyboard.press('Control+A');
    await page.keyboard.type(text);
    await page.keyboard.press('Enter');
  }
  const stored = async () => {
    const answer = await fetch(`${hub.url}/api/entries?kind=test`, { headers: { authorization: `Bearer ${token}` } });
    return ((await answer.json()) as KeptEntry[]).map(({ body }) => body['value']);
  };

  beforeAll(async () => {
    await buildPage(join(scratch.dir, 'page'));
    await lockRoom(scratch.dir, [{ name: 'the test', scope: 'read', token }]);
    port = await freePort();
    await start();
    browser = await openBrowser();
    page = await browser.newPage({ viewport: phone, colorScheme: 'dark' });
    faults = listenForFaults(page);
    await page.goto(hub.url);
  }, 120_000);

  afterAll(async () => {
    await browser?.close();
    await hub?.stop();
    scratch.remove();
  });

  test('a stranger sees the room, or the sign-in cannot be read or reached', async () => {
    await title().waitFor();
    expect(await page.locator('body').textContent()).not.toContain('Fish room');
    for (const { size, scheme } of looks) {
      await page.setViewportSize(size);
      await page.emulateMedia({ colorScheme: scheme });
      await expectSound(page, 4);
    }
    await page.setViewportSize(phone);
  });

  test('a wrong passphrase opens the room or goes without a word, or the right one needs a mouse', async () => {
    await typeIn('not this one at all');
    await page.getByText('The hub does not know this passphrase').waitFor();
    await tabTo(page, 'Show what I type');
    await page.keyboard.press('Enter');
    expect(await page.locator('#passphrase').getAttribute('type')).toBe('text');
    await page.locator('#passphrase').focus();
    await typeIn(passphrase);
    await inTheRoom().waitFor();
    expect(await page.evaluate(() => document.cookie)).toBe('');
    await page.reload();
    await inTheRoom().waitFor();
  });

  test('what was typed while the hub was away is lost by a sign-out', async () => {
    await hub.stop();
    await page.getByRole('button', { name: 'Log a test' }).click();
    await page.getByLabel('Value').fill('8.3');
    await page.getByRole('button', { name: 'Save', exact: true }).click();
    await page.getByText('waits on this device').first().waitFor();
    // Signed out from elsewhere meanwhile: another passphrase was set, here the same words anew.
    await lockRoom(scratch.dir, [{ name: 'the test', scope: 'read', token }]);
    await start();
    await title().waitFor();
    await page.getByText('One entry waits on this device').waitFor();
    expect(await stored()).toEqual([]);
    await typeIn(passphrase);
    await inTheRoom().waitFor();
    await waitUntil('the entry is at the hub', async () => (await stored()).length > 0);
    expect(await stored()).toEqual([8.3]);
  });

  test('after a sign-out the room is still on the screen, or comes back with the back button', async () => {
    await page.goto(`${hub.url}/#/settings`);
    const out = page.getByRole('button', { name: 'Sign out', exact: true });
    await out.waitFor();
    await expectSound(page);
    await out.focus();
    await page.keyboard.press('Enter');
    await title().waitFor();
    await page.goBack();
    await page.reload();
    await title().waitFor();
    expect(await page.locator('body').textContent()).not.toContain('Fish room');
  });

  test('somebody who tries too often is not told how long to wait', async () => {
    const told = page.getByText(/Too many tries\. Try again in \d+ seconds\./);
    // Five a minute; the minute of the first sign-ins may end in between.
    for (let tries = 0; tries < 12 && !(await told.isVisible()); tries += 1) {
      await typeIn(`wrong words of number ${tries}`);
      await page.getByText(/does not know this passphrase|Too many tries/).waitFor();
      await page.getByText('Asking').waitFor({ state: 'hidden' });
    }
    await told.waitFor();
  });

  test('the page does what its security policy forbids', () => {
    expect(faults).toEqual([]);
  });
});
