import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import mqtt, { type MqttClient } from 'mqtt';
import type { Browser, Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, test, vi } from 'vitest';
import type { KeptEntry } from '#adapters/ports/store.ts';
import type { Hub } from '#hub/room/hub.ts';
import type { StandingAlarm } from '#rules/bands/room.ts';
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
import { freePort } from '../../servers/free-port.ts';
import { configOf, getJson, roomText, scratchRoom, startHubHere } from '../../servers/hub-process.ts';
import { patience, waitUntil } from '../../servers/server-process.ts';

// Slow on a loaded machine, and no time is asserted.
vi.setConfig({ testTimeout: 120_000 * patience(), hookTimeout: 120_000 * patience() });

describe.skipIf(isMissing('chromium'))('the page in a browser', () => {
  const scratch = scratchRoom();
  let faults: string[] = [];
  let hub: Hub;
  let ports: { http: number; broker: number };
  let probe: MqttClient;
  let feeding: NodeJS.Timeout;
  let browser: Browser;
  let page: Page;
  let temperature_C = 25.81;

  const start = async () => {
    const text = roomText(scratch.dir, {
      http: { port: ports.http },
      broker: { port: ports.broker },
      probes: [
        { id: 't', system: 'display', metric: 'temperature', mqtt: { topic: 'tank/t' } },
        { id: 'ph', system: 'display', metric: 'ph', mqtt: { topic: 'tank/ph' } },
      ],
      rules: [{ rule: 'out_of_band', metric: 'temperature', on_delay_minutes: 0.01, off_delay_minutes: 0.01 }],
    });
    hub = await startHubHere(configOf(text), {}, join(scratch.dir, 'page'));
  };
  const row = (metric: string) => page.locator(`[data-metric="${metric}"] .row-value`);
  const shows = (metric: string, value: string) => row(metric).filter({ hasText: value }).waitFor();
  const typed = async () => {
    const entries = await getJson<KeptEntry[]>(`${hub.url}/api/entries?kind=test`);
    return entries.map(({ body }) => ({ analyte: body['analyte'], value: body['value'], unit: body['given_unit'] }));
  };

  /** As the first view is after it was opened anew: no form, no test of before. */
  const openTestForm = async () => {
    await page.goto(`${hub.url}/#/`);
    await page.reload();
    await page.getByRole('button', { name: 'Log a test' }).click();
  };

  beforeAll(async () => {
    await buildPage(join(scratch.dir, 'page'));
    ports = { http: await freePort(), broker: await freePort() };
    await start();
    probe = await mqtt.connectAsync(`mqtt://127.0.0.1:${ports.broker}`, { reconnectPeriod: 200 });
    feeding = setInterval(() => {
      if (!probe.connected) return;
      probe.publish('tank/t', temperature_C.toFixed(2));
      probe.publish('tank/ph', '8.14');
    }, 200);
    browser = await openBrowser();
    page = await browser.newPage({ viewport: phone, colorScheme: 'dark' });
    faults = listenForFaults(page);
    await page.goto(hub.url);
  });

  afterAll(async () => {
    clearInterval(feeding);
    await browser?.close();
    await probe?.endAsync(true);
    await hub?.stop();
    scratch.remove();
  });

  test('the rows show no number, or stand still', async () => {
    await shows('temperature', '25.81');
    await shows('ph', '8.14');
    temperature_C = 26.04;
    await shows('temperature', '26.04');
    await page.locator('[data-metric="temperature"]', { hasText: 'in its band' }).waitFor();
    expect(await page.locator('[data-metric="temperature"]').textContent()).toContain('band 25.00 to 26.50');
    expect(await page.locator('[data-metric="alkalinity"]').textContent()).toContain('no test yet');
  });

  test('a test that was typed is not stored', async () => {
    await page.getByRole('button', { name: 'Log a test' }).click();
    await page.getByLabel('Value').fill('8,2');
    await page.getByRole('button', { name: 'Save', exact: true }).click();
    await page.getByText('Saved: alkalinity 8.2 dKH.').waitFor();
    expect(await typed()).toEqual([{ analyte: 'alkalinity', value: 8.2, unit: 'dKH' }]);
    await shows('alkalinity', '8.20');
    await page.getByLabel('Value').fill('eight');
    await page.getByRole('button', { name: 'Save', exact: true }).click();
    await page.getByText('Enter the test result.').waitFor();
    expect(await typed()).toHaveLength(1);
  });

  test('two equal numbers in two units are taken for one test', async () => {
    const before = (await typed()).length;
    await openTestForm();
    await page.getByLabel('What').selectOption('Alkalinity');
    await page.getByLabel('Value').fill('3');
    await page.getByLabel('Unit').selectOption('meq/L');
    await page.getByRole('button', { name: 'Save', exact: true }).click();
    await page.getByText('Saved: alkalinity 3 meq/L.').waitFor();
    await page.getByLabel('Value').fill('8.2');
    await page.getByLabel('Unit').selectOption('dKH');
    await page.getByRole('button', { name: 'Save', exact: true }).click();
    await page.getByText('Saved: alkalinity 8.2 dKH.').waitFor();
    const units = (await typed()).map(({ analyte, unit }) => (analyte === 'alkalinity' ? unit : undefined));
    expect(units).toHaveLength(before + 2);
    expect(new Set(units)).toEqual(new Set(['dKH', 'meq/L']));
  });

  test('the large button stores the slip, or what was meant cannot be saved in one tap', async () => {
    await openTestForm();
    await page.getByLabel('What').selectOption('Alkalinity');
    await page.getByLabel('Unit').selectOption('dKH');
    const before = (await typed()).length;
    await page.getByLabel('Value').fill('144');
    await page.getByRole('button', { name: 'Save', exact: true }).click();
    // 144 mg/L CaCO3 / 17.848 = 8.07 dKH: fixtures/reference/unit-conversions.csv.
    await page.getByText('Did you mean 8.07 dKH (144 mg/L CaCO3)?').waitFor();
    expect(await typed()).toHaveLength(before);
    const answers = await page.locator('.answer button').allTextContents();
    expect(answers).toEqual(['Save 8.07 dKH', 'It really is 144 dKH']);
    expect(await page.locator('.enter .primary').allTextContents()).toEqual(['Save 8.07 dKH']);
    // Beyond what any water holds it is refused, and what was meant is still one tap away.
    await page.getByRole('button', { name: 'It really is 144 dKH' }).click();
    await page.getByText('found 144 dKH, allowed 0 to 25 dKH').waitFor();
    await page.getByRole('button', { name: 'Save 8.07 dKH' }).click();
    await page.getByText('Saved: alkalinity 8.07 dKH.').waitFor();
    expect((await typed())[0]).toEqual({ analyte: 'alkalinity', value: 8.07, unit: 'dKH' });
    await page.getByLabel('Value').fill('3.1');
    await page.getByRole('button', { name: 'Save', exact: true }).click();
    await page.getByRole('button', { name: 'It really is 3.1 dKH' }).click();
    await page.getByText('Saved: alkalinity 3.1 dKH.').waitFor();
    expect(await typed()).toHaveLength(before + 2);
  });

  test('the usual tests in one go cost a choice each, or the keeper has to follow an order of ours', async () => {
    await openTestForm();
    await page.getByLabel('What').selectOption('Alkalinity');
    await page.getByLabel('Value').fill('8.1');
    await page.keyboard.press('Enter');
    await page.getByRole('button', { name: 'Next: Calcium' }).click();
    await page.keyboard.type('420');
    await page.keyboard.press('Enter');
    await page.getByText('Saved: calcium 420 mg/L.').waitFor();
    // From the second on the next one stands there by itself.
    expect(await page.getByLabel('What').inputValue()).toBe('magnesium');
    await page.getByLabel('What').selectOption('Phosphate');
    await page.getByLabel('Value').fill('0.05');
    await page.keyboard.press('Enter');
    await page.getByText('Saved: phosphate 0.05 mg/L.').waitFor();
    // This keeper tests phosphate after calcium: the next time that is the order, and it begins with the first.
    await openTestForm();
    expect(await page.getByLabel('What').inputValue()).toBe('alkalinity');
    await page.getByLabel('Value').fill('8.2');
    await page.keyboard.press('Enter');
    await page.getByRole('button', { name: 'Next: Calcium' }).click();
    await page.keyboard.type('421');
    await page.keyboard.press('Enter');
    await page.getByText('Saved: calcium 421 mg/L.').waitFor();
    expect(await page.getByLabel('What').inputValue()).toBe('phosphate');
  });

  test('a test of this morning is dated now, or its note is lost', async () => {
    await openTestForm();
    await page.getByLabel('What').selectOption('Magnesium');
    await page.getByText('Now · time, note').click();
    await page.getByLabel('When').fill('2026-01-05T07:30');
    await page.getByLabel('Note').fill('new reagent');
    await page.getByLabel('Value').fill('1290');
    await page.getByRole('button', { name: 'Save', exact: true }).click();
    await page.getByText('Saved: magnesium 1290 mg/L.').waitFor();
    const entries = await getJson<KeptEntry[]>(`${hub.url}/api/entries?kind=test`);
    // The room is in Lisbon, which has UTC in January.
    expect(entries.find(({ body }) => body['value'] === 1290)).toMatchObject({
      timeMs: Date.UTC(2026, 0, 5, 7, 30),
      body: { note: 'new reagent' },
    });
  });

  test('a hydrometer has no unit to choose, or its temperatures are not asked', async () => {
    await openTestForm();
    await page.getByLabel('What').selectOption('Salinity');
    await page.getByLabel('Unit').selectOption('specific gravity');
    await page.getByLabel('Value').fill('1.0266');
    await page.getByLabel('Scale').selectOption('20/20 °C');
    await page.getByRole('button', { name: 'Save', exact: true }).click();
    await page.getByText('Saved: specific gravity 1.0266.').waitFor();
    // S = 35 has 1.02660 at 20/20 by EOS-80 (fixtures/reference/seawater-density.csv).
    const entries = await getJson<KeptEntry[]>(`${hub.url}/api/entries?kind=test`);
    expect(entries.find(({ body }) => body['given_unit'] === 'sg')?.body['value']).toBeCloseTo(35, 1);
  });

  test('with the keyboard alone no test can be entered', async () => {
    await page.reload();
    await shows('ph', '8.14');
    for (let tabs = 0; tabs < 40; tabs += 1) {
      await page.keyboard.press('Tab');
      if ((await page.evaluate(() => document.activeElement?.textContent)) === 'Log a test') break;
    }
    await page.keyboard.press('Enter');
    await page.locator('#display-value:focus').waitFor();
    await page.keyboard.press('Shift+Tab');
    await page.keyboard.type('Cal');
    await page.keyboard.press('Tab');
    await page.keyboard.type('425');
    await page.keyboard.press('Enter');
    await page.getByText('Saved: calcium 425 mg/L.').waitFor();
    expect(await typed()).toContainEqual({ analyte: 'calcium', value: 425, unit: 'mg/L' });
  });

  test('an alarm does not appear, or cannot be acknowledged', async () => {
    temperature_C = 27.21;
    const alarm = page.locator('.alarm', { hasText: 'Temperature is 27.21' });
    // Its line is in the list of what to do; the card says how many there are, and has them.
    await page.locator('.deed', { hasText: 'Temperature is 27.21' }).waitFor();
    await page.locator('.alarm-fold summary', { hasText: /^\d active alarms?/ }).click();
    await alarm.waitFor();
    expect(await page.locator('.sentence').textContent()).toMatch(/\d active alarms? in Display tank/);
    await page.locator('[data-metric="temperature"]', { hasText: 'above its band' }).waitFor();
    await alarm.getByRole('button', { name: 'Acknowledge' }).click();
    await page.locator('.alarm', { hasText: 'Temperature is 27.21' }).filter({ hasText: '· seen' }).waitFor();
    const state = async () => {
      const alarms = await getJson<StandingAlarm[]>(`${hub.url}/api/alarms`);
      return alarms.find(({ metric }) => metric === 'temperature')?.state;
    };
    await waitUntil('the hub knows', async () => (await state()) === 'acknowledged');
    await alarm.getByRole('button', { name: 'Acknowledge' }).waitFor({ state: 'detached' });
  });

  test.each(looks)('somebody cannot read or tap it: $scheme at $size.width', async ({ size, scheme }) => {
    await page.setViewportSize(size);
    await page.emulateMedia({ colorScheme: scheme });
    await page.locator('details').evaluateAll((all) => {
      for (const each of all) (each as HTMLDetailsElement).open = true;
    });
    await openTestForm();
    // With a question open: its words and its button count as well.
    await page.getByLabel('What').selectOption('Alkalinity');
    await page.getByLabel('Value').fill('144');
    await page.getByRole('button', { name: 'Save', exact: true }).click();
    await page.getByRole('button', { name: 'It really is 144 dKH' }).waitFor();

    await expectSound(page);
  });

  test.each(looks)(
    'a view behind the first one cannot be read or tapped: $scheme at $size.width',
    async ({ size, scheme }) => {
      await page.setViewportSize(size);
      await page.emulateMedia({ colorScheme: scheme });
      for (const view of ['#/system/display', '#/system/display/alkalinity', '#/more']) {
        await page.goto(`${hub.url}/${view}`);
        await page.locator('main').waitFor();
        await page.locator('details').evaluateAll((all) => {
          for (const each of all) (each as HTMLDetailsElement).open = true;
        });
        await expectSound(page);
      }
      await page.goto(`${hub.url}/#/`);
      await shows('ph', '8.14');
    },
    // Three views, each looked at by axe.
    120_000,
  );

  test('a test that is entered while the network is lost is lost as well, or stored twice', async () => {
    await openTestForm();
    await page.getByLabel('What').selectOption('Nitrate');
    const before = (await typed()).filter(({ analyte }) => analyte === 'nitrate').length;
    await page.context().setOffline(true);
    await page.getByLabel('Value').fill('4.5');
    await page.getByRole('button', { name: 'Save', exact: true }).click();
    await page.getByText('Nitrate 4.5 mg/L is kept on this device').waitFor();
    await page.locator('.unsent', { hasText: 'Nitrate 4.5 mg/L waits' }).waitFor();
    expect((await typed()).filter(({ analyte }) => analyte === 'nitrate')).toHaveLength(before);
    await page.context().setOffline(false);
    await page.locator('.unsent').waitFor({ state: 'detached' });
    expect((await typed()).filter(({ analyte }) => analyte === 'nitrate')).toHaveLength(before + 1);
  });

  test('a slip that waited for the hub is stored by the large button', async () => {
    await openTestForm();
    await page.getByLabel('What').selectOption('Alkalinity');
    await page.getByLabel('Unit').selectOption('dKH');
    await page.context().setOffline(true);
    await page.getByLabel('Value').fill('143');
    await page.getByRole('button', { name: 'Save', exact: true }).click();
    await page.getByText('Alkalinity 143 dKH is kept on this device').waitFor();
    await page.context().setOffline(false);
    const waiting = page.locator('.unsent li');
    await waiting.filter({ hasText: 'Did you mean 8.01 dKH' }).waitFor();
    expect(await waiting.getByRole('button').allTextContents()).toEqual([
      'Save 8.01 dKH',
      'It really is 143 dKH',
      'Discard',
    ]);
    await waiting.getByRole('button', { name: 'Save 8.01 dKH' }).click();
    await waiting.waitFor({ state: 'detached' });
    expect(await typed()).toContainEqual({ analyte: 'alkalinity', value: 8.01, unit: 'dKH' });
    expect((await typed()).filter(({ value }) => value === 143)).toEqual([]);
  });

  test('the answer to an entry is lost on the way, and the second try stores it twice', async () => {
    await openTestForm();
    await page.getByLabel('What').selectOption('Nitrate');
    let lost = 0;
    await page.route('**/api/tests', async (call) => {
      // The hub hears it; the phone does not hear the hub.
      await call.fetch();
      lost += 1;
      await call.abort();
    });
    await page.getByLabel('Value').fill('5.5');
    await page.getByRole('button', { name: 'Save', exact: true }).click();
    await page.getByText('Nitrate 5.5 mg/L is kept on this device').waitFor();
    expect(lost).toBeGreaterThanOrEqual(1);
    await page.unroute('**/api/tests');
    await page.locator('.unsent').waitFor({ state: 'detached' });
    expect((await typed()).filter(({ value }) => value === 5.5)).toHaveLength(1);
  });

  test('a slip that was stored cannot be taken back', async () => {
    await openTestForm();
    await page.getByLabel('What').selectOption('Nitrate');
    await page.getByLabel('Value').fill('6.5');
    await page.getByRole('button', { name: 'Save', exact: true }).click();
    await page.getByText('Saved: nitrate 6.5 mg/L.').waitFor();
    await page.getByRole('button', { name: 'Take it back' }).click();
    await page.getByText('Taken back.').waitFor();
    expect((await typed()).filter(({ value }) => value === 6.5)).toHaveLength(0);
  });

  test('a water change is not stored, or asks for more than a number', async () => {
    await page.getByRole('button', { name: 'Log a water change' }).click();
    await page.locator('#display-water_change-value:focus').waitFor();
    await page.keyboard.type('40');
    await page.getByRole('button', { name: 'Save', exact: true }).click();
    await page.getByText('Saved: water change of 40 L.').waitFor();
    const entries = await getJson<KeptEntry[]>(`${hub.url}/api/entries?kind=water_change`);
    expect(entries.map(({ body }) => body['volume_l'])).toEqual([40]);
  });

  test('a curve cannot be opened, moved or taken along', async () => {
    await page.locator('[data-metric="temperature"] a').click();
    await page.getByRole('heading', { name: 'Temperature' }).waitFor();
    await page.getByText('Lowest 25.81 °C').waitFor();
    const [saved] = await Promise.all([
      page.waitForEvent('download'),
      page.getByRole('button', { name: 'Save as CSV' }).click(),
    ]);
    const text = readFileSync(await saved.path(), 'utf8');
    expect(text.split('\r\n')[0]).toBe('time,kind,least,greatest,unit,note,middle');
    expect(text).toMatch(/,readings,25\.81,/);
    const [picture] = await Promise.all([
      page.waitForEvent('download'),
      page.getByRole('button', { name: 'Save as picture' }).click(),
    ]);
    // @source PNG specification (W3C), 5.2: the signature
    expect([...readFileSync(await picture.path()).subarray(0, 8)]).toEqual([137, 80, 78, 71, 13, 10, 26, 10]);
    const span = page.locator('p[role="status"]', { hasText: ' to ' });
    const before = await span.textContent();
    await page.locator('.chart').focus();
    await page.keyboard.press('ArrowLeft');
    await expectSoon(() => span.textContent()).not.toBe(before);
    await page.goto(`${hub.url}/#/`);
  });

  test('after the hub was restarted the page on the wall shows old numbers for good', async () => {
    await hub.stop();
    await page.getByText('The hub does not answer.').waitFor();
    temperature_C = 26.87;
    await start();
    await page.getByText('The hub does not answer.').waitFor({ state: 'detached' });
    await shows('temperature', '26.87');
    temperature_C = 26.92;
    await shows('temperature', '26.92');
    expect(faults).toEqual([]);
  });
});
