import { join } from 'node:path';
import type { Browser, Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import type { Hub } from '#hub/room/hub.ts';
import type { NowList } from '#rules/now/now-list.ts';
import {
  buildPage,
  expectSoon,
  expectSound,
  listenForFaults,
  looks,
  openBrowser,
  phone,
  tabTo,
} from '../../browser/page-kit.ts';
import { isMissing } from '../../machine/parts.mjs';
import { configOf, getJson, postJson, roomText, scratchRoom, startHubHere } from '../../servers/hub-process.ts';

const dayMs = 86_400_000;

describe.skipIf(isMissing('chromium'))('what to do now, on the page', () => {
  const scratch = scratchRoom();
  let hub: Hub;
  let browser: Browser;
  let page: Page;
  let faults: string[] = [];

  const deed = (words: string) => page.locator('.deed', { hasText: words });
  const list = () => getJson<NowList>(`${hub.url}/api/now`);

  beforeAll(async () => {
    await buildPage(join(scratch.dir, 'page'));
    const band = { temperature: { low: 25, high: 26.5 }, alkalinity: { low: 7.5, high: 9 } };
    const systems = [
      { id: 'display', name: 'Display tank', volume_l: 420, bands: band },
      { id: 'frags', name: 'Frag tank', volume_l: 120, bands: { temperature: { low: 25, high: 26.5 } } },
    ];
    const text = roomText(scratch.dir, { systems });
    hub = await startHubHere(configOf(text), {}, join(scratch.dir, 'page'));
    browser = await openBrowser();
    page = await browser.newPage({ viewport: phone, colorScheme: 'dark' });
    page.setDefaultTimeout(15_000);
    faults = listenForFaults(page);
  }, 120_000);

  afterAll(async () => {
    await browser?.close();
    await hub?.stop();
    scratch.remove();
  });

  test('a room with nothing to do says nothing of it', async () => {
    await page.goto(hub.url);
    await page.locator('.now-calm', { hasText: 'Nothing to do now.' }).waitFor();
    expect(await list()).toMatchObject({ deeds: [], calm: 'Nothing to do now.' });
  });

  test('"nothing is due" is said while the corals sit in closed bags', async () => {
    const expected = new Date(Date.now() + 60_000).toISOString();
    await postJson(`${hub.url}/api/arrivals`, { system: 'frags', name: 'Box of frags', expected });
    // Said by another device: the open page looks again by itself.
    await deed('Box of frags: say when they are here').getByRole('button').click();
    await page.getByRole('heading', { name: /Box of frags/ }).waitFor();
    await page.locator('.sentence', { hasText: 'Float the closed bags of Box of frags.' }).waitFor();
    expect(await page.getByText('Nothing is due today').count()).toBe(0);
    await page.goto(`${hub.url}/#/`);
    await deed('Float the closed bags of Box of frags').waitFor();
  });

  test('a timer that runs shows on its own page alone', async () => {
    // One tap starts the checklist with its clock.
    await deed('Float the closed bags').getByRole('button').click();
    await page.locator('.big-timer-runs').waitFor();
    expect(await page.locator('.timer-bar').count()).toBe(0);
    for (const view of [
      '#/alarms',
      '#/week',
      '#/corals',
      '#/more',
      '#/system/display',
      '#/system/display/temperature',
    ]) {
      await page.goto(`${hub.url}/${view}`);
      await page.locator('.timer-bar a', { hasText: 'Closed bags float' }).waitFor();
      expect(await page.locator('.timer-bar b').textContent()).toMatch(/^59:\d\d$|^1:00:00$/);
    }
    await page.goto(`${hub.url}/#/`);
    await deed('Closed bags float').locator('[role="timer"]').waitFor();
    expect(await page.locator('.timer-bar').count()).toBe(0);
    expect((await list()).calm).toBeUndefined();
    await page.goto(`${hub.url}/#/corals`);
    await page.locator('.sentence', { hasText: 'Something to do for Box of frags.' }).waitFor();
  });

  test('a test that is due is more than two taps and a number away', async () => {
    const time = new Date(Date.now() - 9 * dayMs).toISOString();
    await postJson(`${hub.url}/api/tests`, {
      system: 'display',
      analyte: 'alkalinity',
      value: 8.1,
      time,
      confirmed: true,
    });
    await page.goto(`${hub.url}/#/`);
    const due = page.locator('.deed', { hasText: /Test alkalinity/ }).first();
    await due.getByRole('button', { name: /Log test/ }).click();
    await page.keyboard.type('8,0');
    await page.keyboard.press('Enter');
    await expectSoon(async () => (await list()).deeds.some(({ id }) => id === 'test:display')).toBe(false);
  });

  test('a long line is squeezed beside its button on a narrow phone', async () => {
    const kind = 'Acropora millepora, blue, from the back rack';
    const added = await postJson(`${hub.url}/api/pieces`, { system: 'display', kind });
    const { id } = (await added.json()) as { id: string };
    await postJson(`${hub.url}/api/pieces/${id}/events`, { event: 'ill', sign: 'tissue_loss_fast' });
    await page.setViewportSize({ width: 360, height: 740 });
    await page.goto('about:blank');
    await page.goto(`${hub.url}/#/`);
    const long = deed('tissue is coming off within hours');
    const widthOf = async (what: string) => (await long.locator(what).boundingBox())?.width ?? 0;
    await long.waitFor();
    const whole = (await long.boundingBox())?.width ?? Number.POSITIVE_INFINITY;
    expect(await widthOf('.deed-said')).toBeGreaterThan(0.95 * whole);
    expect(await widthOf('.deed-act')).toBeGreaterThan(100);
    await postJson(`${hub.url}/api/pieces/${id}/events`, { event: 'well' });
    await long.waitFor({ state: 'detached' });
    await page.setViewportSize(phone);
  });

  test('with the keyboard alone nothing of it can be done', async () => {
    await page.goto('about:blank');
    await page.goto(`${hub.url}/#/`);
    await deed('Closed bags float').waitFor();
    await tabTo(page, 'Open: Closed bags float');
    await page.keyboard.press('Enter');
    await page.locator('.big-timer-runs').waitFor();
  });

  test.each(looks)(
    'somebody cannot read or touch the list: $scheme $size.width',
    async ({ size, scheme }) => {
      await page.setViewportSize(size);
      await page.emulateMedia({ colorScheme: scheme });
      for (const view of ['#/', '#/alarms']) {
        await page.goto(`${hub.url}/${view}`);
        await page.locator('.deed, .timer-bar a').first().waitFor();
        await expectSound(page);
      }
      expect(faults).toEqual([]);
    },
    60_000,
  );
});
