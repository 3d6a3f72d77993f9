import { join } from 'node:path';
import type { Browser, Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import type { Hub } from '#hub/room/hub.ts';
import { buildPage, expectSound, listenForFaults, openBrowser, phone } from '../../browser/page-kit.ts';
import { isMissing } from '../../machine/parts.mjs';
import { freePort } from '../../servers/free-port.ts';
import { configOf, roomText, scratchRoom, startHubHere } from '../../servers/hub-process.ts';

describe.skipIf(isMissing('chromium'))('calculations on the page', { timeout: 90_000 }, () => {
  const scratch = scratchRoom();
  let faults: string[] = [];
  let hub: Hub;
  let browser: Browser;
  let page: Page;

  beforeAll(async () => {
    await buildPage(join(scratch.dir, 'page'));
    const text = roomText(scratch.dir, { broker: { port: await freePort() } });
    hub = await startHubHere(configOf(text), {}, join(scratch.dir, 'page'));
    browser = await openBrowser();
    page = await browser.newPage({ viewport: phone, colorScheme: 'dark' });
    page.setDefaultTimeout(20_000);
    faults = listenForFaults(page);
    await page.goto(`${hub.url}/#/calculate`);
  });

  afterAll(async () => {
    await browser?.close();
    await hub?.stop();
    scratch.remove();
  });

  test('a titration that the hub can compute has no place on the page, or another result', async () => {
    await page.locator('#calculation').selectOption('hardness');
    // E01 of fixtures/reference/calcium-magnesium-titrations.csv; a comma as many keepers write it.
    const inputs = { sample_volume_mL: '5', edta_mol_L: '0,01', edta_volume_calcium_mL: '5.128' };
    for (const [name, value] of Object.entries(inputs)) await page.locator(`[name="${name}"]`).fill(value);
    await page.getByRole('button', { name: 'Calculate' }).click();
    await page.getByText('411.04').waitFor();
    await expectSound(page);
    expect(faults).toEqual([]);
  });

  test('a number that is missing gives an answer', async () => {
    await page.locator('#calculation').selectOption('hydrometer');
    await page.locator('[name="reading"]').fill('1.0264');
    await page.getByRole('button', { name: 'Calculate' }).click();
    await page.getByText('Temperature, °C: missing').waitFor();
    expect(await page.locator('.calculated dd').count()).toBe(0);
  });
});
