import { join } from 'node:path';
import type { Browser, Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import type { Hub } from '#hub/room/hub.ts';
import { buildPage, expectSound, listenForFaults, openBrowser, phone } from '../../browser/page-kit.ts';
import { isMissing } from '../../machine/parts.mjs';
import { configOf, postJson, roomText, scratchRoom, startHubHere } from '../../servers/hub-process.ts';

describe.skipIf(isMissing('chromium'))('what shows only over weeks, on the page', () => {
  const scratch = scratchRoom();
  let hub: Hub;
  let browser: Browser;
  let page: Page;
  let faults: string[] = [];

  beforeAll(async () => {
    await buildPage(join(scratch.dir, 'page'));
    const stocks = [
      { id: 'lime', name: 'Lime water', substance: 'calcium_hydroxide', top_off: { evaporation_l_per_day: 4 } },
    ];
    const bands = { alkalinity: { low: 7.5, high: 9 }, salinity: { low: 34, high: 36 } };
    const text = roomText(scratch.dir, {
      systems: [{ id: 'display', name: 'Display tank', volume_l: 400, bands, stocks }],
    });
    hub = await startHubHere(configOf(text), {}, join(scratch.dir, 'page'));
    const enter = (analyte: string, value: number) =>
      postJson(`${hub.url}/api/tests`, { system: 'display', analyte, value, confirmed: true });
    await enter('salinity', 35);
    await enter('nitrate', 6.2);
    await enter('phosphate', 0.1);
    browser = await openBrowser();
    page = await browser.newPage({ viewport: phone, colorScheme: 'light' });
    page.setDefaultTimeout(15_000);
    faults = listenForFaults(page);
    await page.goto(`${hub.url}/#/more`);
    await page.getByRole('link', { name: /^Long term/ }).click();
  }, 120_000);

  afterAll(async () => {
    await browser?.close();
    await hub?.stop();
    scratch.remove();
  });

  test('volume, nutrients, lime water or its cautions are not there', async () => {
    await page.getByText('400 L stated. Too few tests to say whether it fits.').waitFor();
    await page.getByText(/to 1 by mass/).waitFor();
    await page.getByText(/^Lime water: 4\.00 L a day of 1\.43 g\/L/).waitFor();
    await page.getByText(/^Lime is caustic/).waitFor();
    await page.getByText('Not enough tests yet to see growth').waitFor();
    await expectSound(page);
  });

  test('a laboratory’s lines with decimal commas are not compared', async () => {
    await page.getByText('Compare a laboratory’s table with the sea').click();
    await page.getByLabel('Table: element; value; unit').fill('Ca; 421,7; mg/L\nK; 290; mg/L');
    await page.getByRole('button', { name: 'Compare', exact: true }).click();
    await page.getByText('At salinity 35.0: K 29 % low').waitFor();
    await page.getByText('Ca: 421.7 mg/L, 100 % of the sea’s 421.7').waitFor();
    expect(faults).toEqual([]);
  });
});
