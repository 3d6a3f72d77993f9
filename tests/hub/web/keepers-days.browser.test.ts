import { join } from 'node:path';
import type { Browser, Locator, Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import type { Hub } from '#hub/room/hub.ts';
import type { NowList } from '#rules/now/now-list.ts';
import {
  beyondAtDoubleText,
  buildPage,
  expectSoon,
  listenForFaults,
  openBrowser,
  phone,
  wall,
} from '../../browser/page-kit.ts';
import { isMissing } from '../../machine/parts.mjs';
import { configOf, getJson, postJson, roomText, scratchRoom, startHubHere } from '../../servers/hub-process.ts';

const dayMs = 86_400_000;

/** A hand at the page: it counts its taps, and looks at the clock when it is done. */
function handAt(page: Page) {
  let taps = 0;
  const startMs = performance.now();
  return {
    async tap(target: Locator): Promise<void> {
      taps += 1;
      await target.click();
    },
    taps: () => taps,
    seconds: () => (performance.now() - startMs) / 1000,
    page,
  };
}

type Hand = ReturnType<typeof handAt>;

describe.skipIf(isMissing('chromium')).each([
  ['phone', phone],
  ['wall', wall],
] as const)('whole days of a keeper, on the %s', (device, size) => {
  const scratch = scratchRoom();
  const told: string[] = [];
  let hub: Hub;
  let browser: Browser;
  let page: Page;
  let faults: string[] = [];

  const list = () => getJson<NowList>(`${hub.url}/api/now`);
  const deed = (words: string | RegExp) => page.locator('.deed', { hasText: words }).first();
  const act = (words: string | RegExp) => deed(words).locator('.deed-act');
  const button = (name: string | RegExp) => page.getByRole('button', { name, exact: true });
  const home = () => page.goto(`${hub.url}/#/`);
  const step = (words: string) => page.locator('.at-hand .sentence', { hasText: words }).waitFor();
  /** Counts and times are shown and never held against a limit of time: a machine of tests is busy. */
  const tell = (day: string, hand: Hand) =>
    told.push(`${device}, ${day}: ${hand.taps()} taps, ${hand.seconds().toFixed(1)} s of the page`);

  beforeAll(async () => {
    await buildPage(join(scratch.dir, 'page'));
    const systems = [
      {
        ...{ id: 'display', name: 'Display tank', volume_l: 420 },
        bands: { temperature: { low: 25, high: 26.5 }, alkalinity: { low: 7.5, high: 9 } },
        test_every_days: { alkalinity: 1 },
      },
    ];
    const probes = [{ id: 'heat', system: 'display', metric: 'temperature', mqtt: { topic: 'room/heat' } }];
    hub = await startHubHere(configOf(roomText(scratch.dir, { systems, probes })), {}, join(scratch.dir, 'page'));
    for (let day = 20; day >= 2; day -= 1)
      await postJson(`${hub.url}/api/tests`, {
        ...{ system: 'display', analyte: 'alkalinity', value: 8.2, confirmed: true },
        time: new Date(Date.now() - day * dayMs).toISOString(),
      });
    browser = await openBrowser();
    page = await browser.newPage({ viewport: size, colorScheme: 'dark' });
    page.setDefaultTimeout(15_000);
    faults = listenForFaults(page);
  }, 120_000);

  afterAll(async () => {
    process.stdout.write(`${told.join('\n')}\n`);
    await browser?.close();
    await hub?.stop();
    scratch.remove();
  });

  test('an ordinary day: the daily test is more than two taps and a number', async () => {
    await home();
    const hand = handAt(page);
    await hand.tap(act(/Test alkalinity/));
    await page.keyboard.type('8.1');
    await hand.tap(
      deed(/Test alkalinity/)
        .locator('button[type="submit"]')
        .first(),
    );
    await expectSoon(async () => (await list()).deeds.some(({ id }) => id === 'test:display')).toBe(false);
    expect(hand.taps()).toBe(2);
    tell('the daily test', hand);
  });

  test('the day of an arrival: a step of it is more than one tap', async () => {
    const expected = new Date(Date.now() + 60_000).toISOString();
    await postJson(`${hub.url}/api/arrivals`, {
      ...{ system: 'display', name: 'Tuesday box', expected },
      pieces: [{ kind: 'Rosa tenuis', count: 1, longest_cm: 5 }],
    });
    await home();
    const hand = handAt(page);
    await hand.tap(act('Tuesday box: say when they are here'));
    await hand.tap(act('Float the closed bags'));
    await page.locator('.big-timer-runs').waitFor();
    expect(hand.taps()).toBe(2);
    if (size === phone) expect(await beyondAtDoubleText(page)).toEqual([]);
    // The hour afloat is not waited for here: ended early, which asks once.
    await hand.tap(button('End it early'));
    await hand.tap(button(/left: end it now/));
    await step('Make the dip bath');
    const before = hand.taps();
    await hand.tap(button('Done'));
    await step('Soak');
    await hand.tap(button(/The pieces are in/));
    await page.locator('.big-timer-runs').waitFor();
    expect(hand.taps() - before).toBe(2);
    // A look elsewhere, and back by the clock that stands above every view.
    await page.goto(`${hub.url}/#/week`);
    await hand.tap(page.locator('.timer-bar a'));
    await hand.tap(button('End it early'));
    await hand.tap(button(/left: end it now/));
    await step('rinse off');
    await hand.tap(button('Done'));
    await hand.tap(button(/Start 10/));
    await hand.tap(button('End it early'));
    await hand.tap(button(/left: end it now/));
    await step('New plug');
    await hand.tap(button('Done'));
    await step('Inspect');
    await hand.tap(button('Nothing found'));
    await hand.tap(button('Done'));
    await step('Place');
    await hand.tap(button('Done'));
    await page.getByText('All steps are done.').waitFor();
    const { done } = await getJson<{ done: { took_minutes: number | null }[] }>(`${hub.url}/api/runs/a1-1`);
    const timed = done.map(({ took_minutes }) => took_minutes).filter((minutes) => minutes !== null);
    expect(timed).toHaveLength(3);
    // Seconds, and not the 60, 7 and 10 minutes of the protocol.
    expect(Math.max(...timed)).toBeLessThan(7);
    tell('an arrival from the door to the rack', hand);
  });

  test('a bad day: the alarm does not lead, or is not acknowledged with one tap', async () => {
    const series = { system: 'display', metric: 'temperature', probe: 'heat' } as const;
    const { url } = hub;
    await postJson(`${url}/api/tests`, { system: 'display', analyte: 'alkalinity', value: 6.2, confirmed: true });
    await postJson(`${url}/api/tests`, { system: 'display', analyte: 'alkalinity', value: 6.2, confirmed: true });
    hub.store.add([{ series, timeMs: Date.now(), quality: { flag: 'pass', value: 25.6 } }]);
    const alarmOf = (found: NowList) => found.deeds.find(({ act: what }) => what.do === 'acknowledge');
    await expectSoon(async () => alarmOf(await list())).toBeDefined();
    await home();
    const hand = handAt(page);
    const found = await list();
    await page.locator('.deed').first().waitFor();
    // The page looks again by itself when something has changed; until then it shows the list before.
    await expectSoon(() => page.locator('.deed').first().getAttribute('data-deed')).toBe(found.deeds[0]?.id);
    if (size === phone) expect(await beyondAtDoubleText(page)).toEqual([]);
    const alarm = alarmOf(found)?.id;
    await hand.tap(page.locator(`[data-deed="${alarm}"] .deed-act`));
    await expectSoon(async () => (await list()).deeds.find(({ id }) => id === alarm)?.act.do).not.toBe('acknowledge');
    expect(hand.taps()).toBe(1);
    tell('what is wrong, and that it is seen', hand);
    expect(faults).toEqual([]);
  });
});
