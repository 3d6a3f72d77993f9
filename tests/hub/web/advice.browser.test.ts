import { join } from 'node:path';
import type { Browser, Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import type { KeptEntry } from '#adapters/ports/store.ts';
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
import { isMissing } from '../../machine/parts.mjs';
import { configOf, getJson, postJson, roomText, scratchRoom, startHubHere } from '../../servers/hub-process.ts';

const dayMs = 86_400_000;

describe.skipIf(isMissing('chromium'))('advice in a browser', () => {
  const scratch = scratchRoom();
  let hub: Hub;
  let browser: Browser;
  let page: Page;
  let faults: string[] = [];
  const entries = (kind: string) => getJson<KeptEntry[]>(`${hub.url}/api/entries?kind=${kind}`);
  const item = () => page.locator('.advice-item[data-analyte="alkalinity"]');
  const line = () => item().locator('> summary');

  beforeAll(async () => {
    await buildPage(join(scratch.dir, 'page'));
    const text = roomText(scratch.dir, {
      systems: [
        {
          ...{ id: 'display', name: 'Display tank', volume_l: 400 },
          bands: { alkalinity: { low: 7.5, high: 9, most_per_day: 0.5 } },
          stocks: [{ id: 'soda', name: 'Soda solution', substance: 'sodium_carbonate', grams_per_litre: 50 }],
          standing_plan: [{ stock: 'soda', ml_per_day: 100, times_per_day: 4 }],
        },
      ],
    });
    hub = await startHubHere(configOf(text), {}, join(scratch.dir, 'page'));
    const now = Date.now();
    const at = (days: number) => new Date(now - days * dayMs - 60_000).toISOString();
    const enter = (analyte: 'alkalinity' | 'salinity' | 'temperature', value: number, days: number) =>
      hub.entries.test({ system: 'display', analyte, value, time: at(days), confirmed: true }, now);
    // Falls by 0.08 dKH a day under the plan: a suggestion to give more is due.
    for (let days = 12; days >= 0; days -= 1) enter('alkalinity', 7.7 + 0.08 * days, days);
    enter('salinity', 35, 0);
    enter('temperature', 25.5, 0);
    browser = await openBrowser();
    page = await browser.newPage({ viewport: phone, colorScheme: 'dark' });
    faults = listenForFaults(page);
    await page.goto(hub.url);
    await item().waitFor();
  }, 120_000);

  afterAll(async () => {
    await browser?.close();
    await hub?.stop();
    scratch.remove();
  });

  test('the deed is not in the one line of folded advice, or its working takes more than one key', async () => {
    expect(await line().textContent()).toMatch(/^Alkalinity: dose [\d.]+\smL of Soda solution a day/);
    expect(await page.getByRole('button', { name: 'I won’t do this' }).isVisible()).toBe(false);
    await line().focus();
    await page.keyboard.press('Enter');
    await item().getByText('The corals use').waitFor();
    await item()
      .getByText(/^Level = tests weighted/)
      .waitFor();
    expect(await item().locator('.cautions li').count()).toBeGreaterThan(0);
  });

  test('advice cannot be declined with a reason, or stands in the way afterwards', async () => {
    await item().getByRole('button', { name: 'I won’t do this' }).click();
    await item().getByLabel('Reason').selectOption('Another reason');
    await item().getByRole('button', { name: 'Decline' }).click();
    await item().getByText('Enter the reason.').waitFor();
    expect((await entries('advice')).filter(({ body }) => body['declined'] !== undefined)).toEqual([]);
    await item().getByLabel('In your words').fill('A frag is on its way out');
    await item().getByLabel('Your name').fill('Ana');
    await item().getByRole('button', { name: 'Decline' }).click();
    const folded = page.locator('details.advice-item', { hasText: 'Declined, alkalinity: Another reason' });
    await folded.waitFor();
    expect(await page.locator('.advice-item > summary', { hasText: 'of Soda solution' }).count()).toBe(0);
    const declined = (await entries('advice')).filter(({ body }) => body['declined'] !== undefined);
    expect(declined.map(({ body }) => [body['analyte'], body['declined']])).toEqual([
      ['alkalinity', { reason: 'other', note: 'A frag is on its way out', by: 'Ana' }],
    ]);
  });

  test('nobody sees later what was declined and why', async () => {
    await page.reload();
    await page.getByText('Earlier advice').click();
    await page.locator('.advice-history li', { hasText: 'A frag is on its way out (Ana)' }).waitFor();
  });

  test('declined advice cannot be taken up again', async () => {
    await page.locator('details.advice-item > summary').first().click();
    await page.getByRole('button', { name: 'Take it up again' }).click();
    await line().filter({ hasText: 'of Soda solution' }).click();
    await item().getByRole('button', { name: 'I won’t do this' }).waitFor();
  });

  test('the plan cannot be changed to what is advised, or the estimator goes on with the old one', async () => {
    const change = item().getByRole('button', { name: /^Change the plan to/ });
    const [, suggested] = /to ([\d.]+) mL/.exec((await change.textContent()) ?? '') ?? [];
    expect(Number(suggested)).toBeGreaterThan(100);
    await change.click();
    expect(await item().getByLabel('New plan, mL a day').inputValue()).toBe(suggested);
    await item().getByRole('button', { name: 'Change the plan', exact: true }).click();
    await expectSoon(async () => (await entries('plan')).map(({ body }) => body['ml_per_day'])).toEqual([
      Number(suggested),
    ]);
    const plan = page.locator('.plans [data-stock="soda"]');
    await plan.filter({ hasText: `${suggested} mL a day` }).waitFor();
    expect(await plan.textContent()).toContain('the configuration says 100 mL a day in 4 doses');
    // With the plan that it asked for it asks for no other plan.
    await expectSoon(() =>
      item()
        .getByRole('button', { name: /^Change the plan to/ })
        .count(),
    ).toBe(0);
  });

  test.each(looks)('somebody cannot read or answer advice: $scheme at $size.width', async ({ size, scheme }) => {
    await page.setViewportSize(size);
    await page.emulateMedia({ colorScheme: scheme });
    for (const summary of await page.locator('.advice details:not([open]) > summary').all()) await summary.click();
    const answer = page.getByRole('button', { name: 'Other plan' });
    if ((await answer.getAttribute('aria-expanded')) === 'false') await answer.click();
    await expectSound(page);
  });

  test('there is no way back to the plan of the configuration', async () => {
    await page.getByRole('button', { name: 'Back to the configuration' }).click();
    await page.getByRole('button', { name: 'Back to the configuration' }).waitFor({ state: 'detached' });
    expect(await page.locator('.plans [data-stock="soda"]').textContent()).toContain('100 mL a day in 4 doses');
    const [last] = await entries('plan');
    expect(last?.body).toMatchObject({ stock: 'soda', ml_per_day: 100, configured: true });
    expect(faults).toEqual([]);
  });

  test('a decline that is sent twice is kept twice, or one of nothing is taken', async () => {
    const body = { system: 'display', analyte: 'alkalinity', reason: 'later', key: 'k1' };
    const first = (await (await postJson(`${hub.url}/api/advice/decline`, body)).json()) as { id: number };
    const second = (await (await postJson(`${hub.url}/api/advice/decline`, body)).json()) as { id: number };
    expect(second.id).toBe(first.id);
    expect((await postJson(`${hub.url}/api/advice/decline`, { ...body, analyte: 'magnesium' })).status).toBe(404);
    expect((await postJson(`${hub.url}/api/advice/decline`, { ...body, reason: 'other' })).status).toBe(400);
  });
});
