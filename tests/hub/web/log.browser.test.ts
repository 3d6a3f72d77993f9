import { join } from 'node:path';
import type { Browser, Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, test, vi } from 'vitest';
import type { KeptEntry } from '#adapters/ports/store.ts';
import type { Hub } from '#hub/room/hub.ts';
import { buildPage, expectSound, listenForFaults, looks, openBrowser, phone, tabTo } from '../../browser/page-kit.ts';
import { isMissing } from '../../machine/parts.mjs';
import { configOf, getJson, roomText, scratchRoom, startHubHere } from '../../servers/hub-process.ts';
import { patience } from '../../servers/server-process.ts';

// Slow on a loaded machine, and no time is asserted.
vi.setConfig({ testTimeout: 120_000 * patience(), hookTimeout: 120_000 * patience() });

describe.skipIf(isMissing('chromium'))('what was entered, in a browser', () => {
  const scratch = scratchRoom();
  let hub: Hub;
  let browser: Browser;
  let page: Page;
  let faults: string[] = [];
  const kept = async (kind: string) =>
    (await getJson<KeptEntry[]>(`${hub.url}/api/entries?kind=${kind}`)).map(({ body, timeMs }) => ({
      ...body,
      timeMs,
    }));
  const line = (words: string) => page.locator('.log > li', { hasText: words });

  beforeAll(async () => {
    await buildPage(join(scratch.dir, 'page'));
    const stocks = [{ id: 'soda', name: 'Soda', substance: 'sodium_carbonate', grams_per_litre: 50 }];
    const bands = { alkalinity: { low: 7.5, high: 9 } };
    const systems = ['Display', 'Frags'].map((name) => ({
      id: name.toLowerCase(),
      name,
      volume_l: 400,
      bands,
      stocks,
    }));
    hub = await startHubHere(configOf(roomText(scratch.dir, { systems })), {}, join(scratch.dir, 'page'));
    const enter = { system: 'display', confirmed: true, time: '2026-01-05T08:00:00Z' } as const;
    hub.entries.test({ ...enter, analyte: 'alkalinity', value: 8.7, unit: 'dKH', note: 'tired' }, Date.now());
    hub.entries.test({ ...enter, analyte: 'calcium', value: 410 }, Date.now());
    hub.entries.dose({ system: 'frags', stock: 'soda', ml: 30 }, Date.now());
    browser = await openBrowser();
    page = await browser.newPage({ viewport: phone, colorScheme: 'dark' });
    faults = listenForFaults(page);
    await page.goto(`${hub.url}/#/log`);
    await line('Calcium 410 mg/L').waitFor();
  });

  afterAll(async () => {
    await browser?.close();
    await hub?.stop();
    scratch.remove();
  });

  test('a slip that is noticed days later cannot be corrected, or counts beside the right number', async () => {
    await line('Alkalinity 8.7 dKH').getByRole('button', { name: 'Change' }).click();
    await page.getByText('Correct a test, Display', { exact: true }).waitFor();
    expect(await page.getByLabel('Value').inputValue()).toBe('8.7');
    // Lisbon has UTC in January.
    await page.getByText('5 Jan, 08:00, tired').click();
    await page.getByLabel('When').fill('2026-01-05T09:15');
    await page.getByLabel('Value').fill('7.8');
    await page.getByRole('button', { name: 'Save', exact: true }).click();
    await line('Alkalinity 7.8 dKH').filter({ hasText: 'tired · corrected' }).waitFor();
    expect(await line('Alkalinity 8.7 dKH').count()).toBe(0);
    const tests = (await kept('test')).filter((each) => 'analyte' in each && each['analyte'] === 'alkalinity');
    expect(tests).toMatchObject([{ value: 7.8, note: 'tired', timeMs: Date.UTC(2026, 0, 5, 9, 15) }]);
  });

  test('a dose in grams, a plan or a refill with a slip stands for good', async () => {
    const enter = { system: 'display', time: '2026-01-06T08:00:00Z' } as const;
    hub.entries.dose({ ...enter, substance: 'sodium_bicarbonate', grams: 50 }, Date.now());
    hub.entries.plan({ ...enter, stock: 'soda', ml_per_day: 400, times_per_day: 4 }, Date.now());
    hub.entries.refill({ ...enter, stock: 'soda', ml: 500 }, Date.now());
    const correct = async (words: string, label: string, value: string, after: string) => {
      await line(words).getByRole('button', { name: 'Change' }).click();
      const field = line(words).getByLabel(label, { exact: true });
      await field.fill(value);
      await line(words).getByRole('button', { name: 'Save', exact: true }).click();
      await line(after).filter({ hasText: 'corrected' }).waitFor();
      expect(await line(words).count()).toBe(0);
    };
    await page.reload();
    await correct('50 g sodium bicarbonate', 'Amount, g', '5', '5 g sodium bicarbonate');
    await correct('Plan of Soda: 400 mL a day', 'Plan, mL a day', '40', 'Plan of Soda: 40 mL a day');
    await correct('Soda refilled to 500 mL', 'Filled to, mL', '5000', 'Soda refilled to 5000 mL');
    expect(await kept('dose')).toContainEqual(
      expect.objectContaining({ substance: 'sodium_bicarbonate', grams: 5, timeMs: Date.UTC(2026, 0, 6, 8) }),
    );
    expect(await kept('plan')).toMatchObject([{ stock: 'soda', ml_per_day: 40, times_per_day: 4 }]);
    expect(await kept('refill')).toMatchObject([{ stock: 'soda', ml: 5000 }]);
  });

  test('a dose that was never given cannot be taken back', async () => {
    await page.getByLabel('System').selectOption('Frags');
    await line('Calcium').waitFor({ state: 'detached' });
    await line('30 mL Soda').getByRole('button', { name: 'Change' }).click();
    await line('30 mL Soda').getByRole('button', { name: 'Take back' }).click();
    await page.getByText('Taken back: 30 mL Soda.').waitFor();
    await page.getByText('Nothing entered yet.').waitFor();
    expect((await kept('dose')).filter((each) => 'stock' in each)).toEqual([]);
  });

  test('the first plan of a stock needs the file', async () => {
    await page.goto(`${hub.url}/#/system/frags`);
    await page.getByText('Daily dosing: no plan yet').click();
    await page.getByRole('button', { name: 'Set up a plan' }).click();
    await page.getByLabel('New plan, mL a day').fill('24');
    await page.getByLabel('Doses a day').fill('12');
    await page.getByRole('button', { name: 'Save the plan' }).click();
    await page.getByText('Daily dosing: Soda 24 mL a day in 12 doses').waitFor();
    expect(await kept('plan')).toContainEqual(
      expect.objectContaining({ stock: 'soda', ml_per_day: 24, times_per_day: 12 }),
    );
    await page.goto(`${hub.url}/#/log`);
    await line('Plan of Soda: 24 mL a day').waitFor();
  });

  test.each(looks)('somebody cannot read or tap it: $scheme at $size.width', async ({ size, scheme }) => {
    await page.setViewportSize(size);
    await page.emulateMedia({ colorScheme: scheme });
    await page.goto(`${hub.url}/#/log`);
    const button = line('Calcium 410 mg/L').getByRole('button', { name: 'Change' });
    if ((await button.getAttribute('aria-expanded')) === 'false') await button.click();
    await page.locator('.log details').evaluateAll((all) => {
      for (const each of all) (each as HTMLDetailsElement).open = true;
    });
    await expectSound(page);
  });

  test('with the keyboard nobody comes from the room to the log', async () => {
    await page.goto(`${hub.url}/#/system/display`);
    await page.reload();
    await page.getByRole('button', { name: 'Log a test' }).waitFor();
    await tabTo(page, 'All entries of Display');
    await page.keyboard.press('Enter');
    await page.getByRole('heading', { name: 'Log' }).waitFor();
    await line('Calcium 410 mg/L').waitFor();
    expect(faults).toEqual([]);
  });
});
