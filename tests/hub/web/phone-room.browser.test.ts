import { join } from 'node:path';
import type { Browser, Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import type { Hub } from '#hub/room/hub.ts';
import { buildPage, expectSound, openBrowser, phone, tabTo, wall } from '../../browser/page-kit.ts';
import { isMissing } from '../../machine/parts.mjs';
import { configOf, roomText, scratchRoom, startHubHere } from '../../servers/hub-process.ts';

const dayMs = 86_400_000;

describe.skipIf(isMissing('chromium'))('three systems on a phone', () => {
  const scratch = scratchRoom();
  let hub: Hub;
  let browser: Browser;
  let page: Page;
  const titles = async () =>
    (await page.locator('.system h2').allTextContents()).map((title) => title.replace(/\s.*/, ''));
  const card = (name: string) => page.getByRole('region', { name });

  beforeAll(async () => {
    await buildPage(join(scratch.dir, 'page'));
    const names = ['First', 'Second', 'Third'];
    const bands = { alkalinity: { low: 7.5, high: 9 }, calcium: { low: 400, high: 450 } };
    const text = roomText(scratch.dir, {
      systems: names.map((name) => ({ id: name.toLowerCase(), name, volume_l: 400, bands })),
    });
    hub = await startHubHere(configOf(text), {}, join(scratch.dir, 'page'));
    const now = Date.now();
    const enter = (system: string, analyte: 'alkalinity' | 'calcium', value: number, days: number) => {
      const time = new Date(now - days * dayMs - 60_000).toISOString();
      hub.entries.test({ system, analyte, value, time, confirmed: true }, now);
    };
    for (const name of names)
      for (let day = 5; day >= 0; day -= 1) {
        // In the second one alkalinity falls.
        enter(name.toLowerCase(), 'alkalinity', 8.3 - (name === 'Second' ? 0.14 * (5 - day) : 0), day);
        enter(name.toLowerCase(), 'calcium', 425, day);
      }
    browser = await openBrowser();
    page = await browser.newPage({ viewport: phone, colorScheme: 'dark' });
    await page.goto(hub.url);
    await card('Second').waitFor();
  }, 120_000);

  afterAll(async () => {
    await browser?.close();
    await hub?.stop();
    scratch.remove();
  });

  test('cards change places while a finger is on its way, or what needs a look has no curve', async () => {
    expect(await titles()).toEqual(['First', 'Second', 'Third']);
    expect(await page.locator('.sentence').textContent()).toMatch(/ in Second: alkalinity will leave its band/);
    // Third becomes the most urgent of all: no card moves, and the form that opens says whose it is.
    hub.entries.test({ system: 'third', analyte: 'alkalinity', value: 9.6, confirmed: true }, Date.now());
    await page.locator('.sentence', { hasText: 'Third' }).waitFor();
    expect(await titles()).toEqual(['First', 'Second', 'Third']);
    await page.getByRole('button', { name: 'Log a test' }).first().click();
    await card('First').getByText('Log a test, First', { exact: true }).waitFor();
    await card('First').getByRole('button', { name: 'Log a test' }).click();
    await card('Second').locator('.row[data-metric="alkalinity"] .plot').waitFor();
  });

  test('what is quiet fills the phone with curves, or hides its figures', async () => {
    expect(await card('First').locator('.row').count()).toBe(0);
    expect(await card('First').locator('.figures [data-metric="alkalinity"]').textContent()).toMatch(
      /in its band\s*8\.30 dKH/,
    );
    await card('First').getByRole('button', { name: 'Log a test' }).waitFor();
    await expectSound(page);
  });

  test('with the keyboard nobody comes to the curves of a quiet system', async () => {
    await tabTo(page, 'All curves and advice of First');
    await page.keyboard.press('Enter');
    await card('First').locator('.row[data-metric="calcium"] .plot').waitFor();
    await page.keyboard.press('Enter');
    await card('First').locator('.row').first().waitFor({ state: 'detached' });
  });

  test('on a wall a system runs to another place', async () => {
    await page.setViewportSize(wall);
    // The page hears of its new width a moment later: the short cards go first.
    await expect.poll(() => page.locator('.figures').count()).toBe(0);
    expect(await titles()).toEqual(['First', 'Second', 'Third']);
  });
});
