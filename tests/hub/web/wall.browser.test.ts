import { join } from 'node:path';
import type { Browser, Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import type { Hub } from '#hub/room/hub.ts';
import { buildPage, expectSound, looks, openBrowser } from '../../browser/page-kit.ts';
import { isMissing } from '../../machine/parts.mjs';
import { configOf, roomText, scratchRoom, startHubHere } from '../../servers/hub-process.ts';

const dayMs = 86_400_000;
const count = 40;
/** The system whose alkalinity falls, by its number. */
const falling = 17;
/** The system with one wild minute, half a year ago. */
const spiked = 5;
const spike_C = 31.4;

describe.skipIf(isMissing('chromium'))('a wall of 40 systems', () => {
  const scratch = scratchRoom();
  const ids = Array.from({ length: count }, (_, index) => `s${index}`);
  const now = Date.now();
  let hub: Hub;
  let browser: Browser;
  let page: Page;

  function keepYear(): void {
    const series = { system: `s${spiked}`, metric: 'temperature', probe: `s${spiked}-t` } as const;
    // A reading every five minutes of the last year is 105 000 of them.
    for (let day = 365; day > 0; day -= 1) {
      hub.store.add(
        Array.from({ length: 288 }, (_, index) => {
          const timeMs = now - day * dayMs + (index * dayMs) / 288;
          const value = day === 180 && index === 100 ? spike_C : 25.6 + 0.2 * Math.sin(index / 46);
          return { series, timeMs, quality: { flag: 'pass', value } } as const;
        }),
      );
      hub.store.flush();
    }
  }

  beforeAll(async () => {
    await buildPage(join(scratch.dir, 'page'));
    const bands = { temperature: { low: 25, high: 26.5 }, alkalinity: { low: 7.5, high: 9 } };
    const text = roomText(scratch.dir, {
      systems: ids.map((id) => ({ id, name: `Raceway ${id} (invented)`, volume_l: 300, bands })),
      probes: ids.map((id) => ({ id: `${id}-t`, system: id, metric: 'temperature', mqtt: { topic: `${id}/t` } })),
    });
    hub = await startHubHere(configOf(text), {}, join(scratch.dir, 'page'));
    keepYear();
    for (const [index, system] of ids.entries()) {
      hub.store.add([
        {
          series: { system, metric: 'temperature', probe: `${system}-t` },
          timeMs: Date.now(),
          quality: { flag: 'pass', value: 25.7 },
        },
      ]);
      for (let day = 5; day >= 0; day -= 1) {
        const value = 8.3 - (index === falling ? 0.14 * (5 - day) : 0);
        const time = new Date(now - day * dayMs - 3_600_000).toISOString();
        hub.entries.test({ system, analyte: 'alkalinity', value, time, confirmed: true }, now);
      }
    }
    browser = await openBrowser();
    page = await browser.newPage({ viewport: { width: 1920, height: 1080 }, colorScheme: 'dark' });
  }, 120_000);

  afterAll(async () => {
    await browser?.close();
    await hub?.stop();
    scratch.remove();
  });

  test('the one system that needs a look is not named on top, or the tiles leave the order of the keeper', async () => {
    await page.goto(hub.url);
    const tiles = page.locator('.tile');
    await tiles.nth(falling).filter({ hasText: 'Alkalinity will leave its band' }).waitFor();
    expect(await tiles.locator('.tile-name').allTextContents()).toEqual(
      ids.map((id) => expect.stringContaining(`Raceway ${id} (invented)`)),
    );
    expect(await page.locator('.sentence').textContent()).toContain(`Raceway s${falling} (invented): alkalinity`);
    expect(await page.locator('.sentence').textContent()).toMatch(/alkalinity will leave its band .*39 are steady/i);
  });

  test('a tile does not open its system', async () => {
    await page.locator('.tile a').nth(falling).click();
    await page.getByRole('heading', { name: `Raceway s${falling} (invented)` }).waitFor();
    await page.getByRole('button', { name: 'Log a test' }).waitFor();
    await page.goBack();
    await page.locator('.tile').first().waitFor();
  });

  test.each(looks)('somebody cannot read the wall: $scheme at $size.width', async ({ size, scheme }) => {
    await page.setViewportSize(size);
    await page.emulateMedia({ colorScheme: scheme });
    await expectSound(page);
  });

  test('one wild minute is lost in the curve of a year', async () => {
    await page.goto(`${hub.url}/#/system/s${spiked}/temperature`);
    await page.getByRole('button', { name: 'Year', exact: true }).click();
    await page.getByText(`highest ${spike_C.toFixed(2)} °C`).waitFor();
  });
});
