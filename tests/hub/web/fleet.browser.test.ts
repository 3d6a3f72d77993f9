import { join } from 'node:path';
import type { Browser, Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import type { Hub } from '#hub/room/hub.ts';
import {
  buildPage,
  expectSoon,
  expectSound,
  listenForFaults,
  looks,
  openBrowser,
  wall,
} from '../../browser/page-kit.ts';
import { isMissing } from '../../machine/parts.mjs';
import { scratchRoom } from '../../servers/hub-process.ts';
import { type Farm, startFarm, startWatcher, writeDay } from '../outside/fleet/farm.ts';

const minuteMs = 60_000;
const message = 'Temperature is 28.10 °C, above its band of 25.00 to 26.50';
const isSkipped = (['chromium', 'mosquitto', 'influxd'] as const).some((part) => isMissing(part));

describe.skipIf(isSkipped)('the fleet in a browser', () => {
  const scratch = scratchRoom();
  const pageDir = join(scratch.dir, 'page');
  let farm: Farm;
  let hub: Hub;
  let browser: Browser;
  let page: Page;
  let faults: string[] = [];

  beforeAll(async () => {
    const building = buildPage(pageDir);
    farm = await startFarm(6, true, 2);
    await farm.hubs[1]?.raise('broodstock', 'temperature', 'high', message);
    farm.hubs[1]?.lead('temperature', 28.1);
    await farm.hubs[1]?.tick();
    farm.hubs[2]?.cut();
    await farm.hubs[3]?.beatOnceAt(Date.now() - 12 * minuteMs);
    if (farm.database !== undefined) await writeDay(farm.database, 'farm/hub-02', 2, 31.25);
    await building;
    hub = await startWatcher(farm, scratch.dir, pageDir);
    browser = await openBrowser();
    page = await browser.newPage({ viewport: wall, colorScheme: 'dark' });
    faults = listenForFaults(page);
  }, 120_000);

  afterAll(async () => {
    await browser?.close();
    await hub?.stop();
    await farm?.stop();
    scratch.remove();
  });

  test('the hub that nobody watches any more does not stand first, nor says what is wrong in words', async () => {
    await page.goto(`${hub.url}/#/fleet`);
    // Twelve when it was said, and some more on a busy machine.
    await page.getByText(/No signal for 1\d min/).waitFor();
    const tiles = page.locator('.fleet-tile');
    const texts = async (part: string) => (await tiles.locator(part).allTextContents()).map((text) => text.trim());
    await expectSoon(() => texts('.fleet-name')).toEqual([
      ...['Hall 03 (invented)', 'Hall 04 (invented)', 'Hall 02 (invented)'],
      ...['Hall 01 (invented)', 'Hall 05 (invented)', 'Hall 06 (invented)', 'Office (invented) this hub'],
    ]);
    await expectSoon(() => texts('.fleet-word')).toEqual([
      expect.stringMatching(/^Offline for /),
      expect.stringMatching(/^No signal for 1\d min$/),
      '1 high alarm',
      ...['All in band', 'All in band', 'All in band', 'No alarm'],
    ]);
    expect(await tiles.nth(2).textContent()).toContain(message);
    // The marks say the same to whoever does not see them.
    await tiles.nth(2).getByRole('img', { name: 'values: 9 inside, 3 outside' }).waitFor();
    await page
      .getByText(/^3 of 7 hubs need a look, first Hall 03 \(invented\): offline for .* 4 others are calm\.$/)
      .waitFor();
  });

  test('the wall goes on showing what was', async () => {
    farm.hubs[4]?.lead('ph', 8.9);
    await farm.hubs[4]?.tick();
    await page.getByText('3 values out of band').waitFor();
    farm.hubs[4]?.lead('ph', undefined);
  });

  test('from a tile nobody finds the water, and the spike in its day', async () => {
    await page.getByRole('link', { name: /Hall 02/ }).click();
    await page.getByRole('heading', { name: 'Hall 02 (invented)' }).waitFor();
    const system = page.getByRole('region', { name: 'Broodstock tank' });
    await system.getByText(message).waitFor();
    await system.getByRole('link', { name: /Temperature 28\.10 °C above its band/ }).click();
    await page.getByText('highest 31.25 °C').waitFor();
    await page.getByText('Figures for this span').click();
    await page.getByRole('region', { name: 'Figures of Temperature' }).getByText('31.25').waitFor();
  });

  test.each(
    ['', '/farm%2Fhub-02', '/farm%2Fhub-02/broodstock/temperature'].flatMap((at) =>
      looks.map((look) => ({ ...look, at })),
    ),
  )('a wet finger or weak eyes cannot use fleet$at: $size.width, $scheme', async ({ size, scheme, at }) => {
    await page.setViewportSize(size);
    await page.emulateMedia({ colorScheme: scheme });
    await page.goto(`${hub.url}/#/fleet${at}`);
    const word = at === '' ? 'No signal for' : at.endsWith('temperature') ? 'highest 31.25 °C' : message;
    await page.getByText(word).first().waitFor();
    await expectSound(page);
  });

  test('a database that is away is an empty curve, and a broker that is away a calm wall', async () => {
    await farm.database?.pause();
    await page.goto(`${hub.url}/#/fleet/farm%2Fhub-02/broodstock/temperature`);
    await page.reload();
    await page.getByText('The time-series database does not answer').waitFor();
    await expectSound(page);
    await farm.broker.kill();
    await page.getByRole('link', { name: '‹ Fleet', exact: true }).click();
    await page.getByText('This hub has no link to the broker').waitFor();
    expect(faults).toEqual([]);
  });
});
