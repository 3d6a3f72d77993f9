import { readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import mqtt, { type MqttClient } from 'mqtt';
import type { Browser, Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { writeOver } from '#adapters/csv/write-over.ts';
import type { KeptEntry } from '#adapters/ports/store.ts';
import type { BatchAnswer } from '#hub/api/batches.ts';
import { configFile } from '#hub/model/settings/config-file.ts';
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
import { freePort } from '../../servers/free-port.ts';
import { configOf, getJson, postJson, roomText, scratchRoom, startHubHere } from '../../servers/hub-process.ts';

describe.skipIf(isMissing('chromium'))('settings and configuration in a browser', { timeout: 90_000 }, () => {
  const scratch = scratchRoom();
  const path = join(scratch.dir, 'room.yaml');
  let text = '';
  let faults: string[] = [];
  let hub: Hub;
  let probe: MqttClient;
  let browser: Browser;
  let page: Page;

  const readFile = (file: string) => readFileSync(file, 'utf8');
  const temperature = (value_C: number) => probe.publishAsync('tank/t', value_C.toFixed(2), { qos: 1 });
  const open = async (address: string) => {
    await page.goto(`${hub.url}/${address}`);
    await page.locator('[data-view-title], .sentence').first().waitFor();
  };

  beforeAll(async () => {
    await buildPage(join(scratch.dir, 'page'));
    const broker = await freePort();
    text = roomText(scratch.dir, {
      broker: { port: broker },
      mqtt: { prefix: 'reef' },
      probes: [{ id: 't', system: 'display', metric: 'temperature', mqtt: { topic: 'tank/t' } }],
      rules: [{ rule: 'out_of_band', metric: 'temperature', on_delay_minutes: 0, off_delay_minutes: 0 }],
    });
    writeFileSync(path, text);
    const file = configFile(path, text, { env: {}, readFile, writeFile: writeOver });
    hub = await startHubHere(configOf(text), {}, join(scratch.dir, 'page'), { configFile: file });
    probe = await mqtt.connectAsync(`mqtt://127.0.0.1:${broker}`);
    await temperature(25.5);
    browser = await openBrowser();
    page = await browser.newPage({ viewport: phone, colorScheme: 'dark' });
    page.setDefaultTimeout(20_000);
    faults = listenForFaults(page);
  });

  afterAll(async () => {
    await browser?.close();
    await probe?.endAsync(true);
    await hub?.stop();
    scratch.remove();
  });

  test('a unit that was chosen is not that of the rows, or not that of the next alarm', async () => {
    await open('#/settings');
    await page.locator('#unit-temperature').selectOption('°F');
    await page.getByText('Temperature is shown in °F.').waitFor();
    await open('#/');
    const row = page.locator('[data-metric="temperature"]');
    // 25.5 °C is 77.9 °F exactly: ×9/5 and +32.
    await row.locator('.row-value', { hasText: '77.90 °F' }).waitFor();
    expect(await row.textContent()).toContain('band 77.00 to 79.70');
    await temperature(28);
    await temperature(28);
    await page.locator('.deed', { hasText: 'Temperature is 82.40 °F' }).waitFor();
    await row.locator('.row-value', { hasText: '82.40 °F' }).waitFor();
  });

  test('a test or new water is asked for in another unit than the keeper reads', async () => {
    await page.getByRole('button', { name: 'Log a test' }).click();
    await page.locator('#display-analyte').selectOption('temperature');
    expect(await page.locator('#display-unit').inputValue()).toBe('°F');
    const batch = { system: 'display', litres: 50, salt: 'a salt (invented)', salt_g: 1900 };
    expect((await postJson(`${hub.url}/api/batches`, batch)).status).toBeLessThan(300);
    await open('#/water/b1');
    await page.getByLabel('Temperature, °F').fill('77');
    await page.getByRole('button', { name: 'Measured' }).click();
    // 77 °F is 25 °C exactly, and the store keeps °C.
    await expectSoon(
      async () => (await getJson<BatchAnswer[]>(`${hub.url}/api/batches`))[0]?.water['temperature'],
    ).toBeCloseTo(25, 9);
    await page.locator('.facts', { hasText: 'Temperature, °F77' }).waitFor();
  });

  test('the new water of a change is typed in another unit than the keeper reads, or in the old one after a change', async () => {
    await postJson(`${hub.url}/api/tests`, { system: 'display', analyte: 'alkalinity', value: 8, confirmed: true });
    await open('#/settings');
    await page.locator('#unit-alkalinity').selectOption('meq/L');
    await page.getByText('Alkalinity is shown in meq/L.').waitFor();
    // A form that was left open goes over into the new unit with what is typed in it.
    await open('#/water/b1');
    await page.getByLabel('Alkalinity, meq/L').fill('2.8');
    await open('#/');
    const openForm = async () => {
      await page.getByRole('button', { name: 'Log a water change' }).click();
      await page.locator('.new-water summary').click();
    };
    await openForm();
    await page.locator('#display-water_change-value').fill('20');
    await page.getByLabel('Alkalinity, meq/L').fill('2.8');
    await page.getByRole('button', { name: 'Save', exact: true }).click();
    await page.getByText('Saved: water change of 20 L.').waitFor();
    const [entry] = await getJson<KeptEntry[]>(`${hub.url}/api/entries?kind=water_change`);
    // @source 1 dKH is 10 mg/L CaO (DIN 38409-6), CaO 56.0774 g/mol: 2.8 meq/L are 7.851 dKH
    expect(entry?.body['alkalinity_dkh']).toBeCloseTo(7.851, 3);
    await open('#/log');
    await page.locator('.log-words', { hasText: 'new water alkalinity 2.80 meq/L' }).waitFor();
    await open('#/settings');
    await page.getByRole('button', { name: /^Back to dKH.*Alkalinity/ }).click();
    await page.getByText('Alkalinity is shown in dKH.').waitFor();
    await open('#/');
    await page.locator('[data-metric="alkalinity"] .row-value', { hasText: 'dKH' }).waitFor();
    await openForm();
    await expectSoon(() => page.getByLabel('Alkalinity, dKH').inputValue()).toMatch(/^7\.85/);
    await open('#/water/b1');
    await expectSoon(() => page.getByLabel('Alkalinity, dKH').inputValue()).toMatch(/^7\.85/);
  });

  test('a number that was typed is taken for the unit that another device chose meanwhile', async () => {
    await open('#/');
    await page.getByRole('button', { name: 'Log a test' }).click();
    await page.locator('#display-analyte').selectOption('alkalinity');
    expect(await page.locator('#display-unit').inputValue()).toBe('dKH');
    await page.locator('#display-value').fill('8.1');
    await postJson(`${hub.url}/api/settings`, { display_units: { alkalinity: 'meq/L' } });
    await page.locator('[data-metric="alkalinity"] .row-value', { hasText: 'meq/L' }).waitFor();
    expect(await page.locator('#display-unit').inputValue()).toBe('dKH');
    await page.getByRole('button', { name: 'Save', exact: true }).click();
    await page.getByText('Saved: alkalinity').waitFor();
    const [entry] = await getJson<KeptEntry[]>(`${hub.url}/api/entries?kind=test`);
    expect(entry?.body).toMatchObject({ given_value: 8.1, given_unit: 'dKH' });
    await postJson(`${hub.url}/api/settings`, { display_units: { alkalinity: 'dKH' } });
  });

  test('a choice is not noted, is lost, or writes the file of the keeper', async () => {
    expect(readFile(path)).toBe(text);
    const notes = await getJson<KeptEntry[]>(`${hub.url}/api/entries?kind=note`);
    expect(notes.map(({ body }) => body['note'])).toContain('settings: Temperature in °F');
    await open('#/settings');
    await page.getByRole('button', { name: /^Back to °C.*Temperature/ }).click();
    await page.getByText('Temperature is shown in °C.').waitFor();
    await expectSoon(() => page.locator('#unit-temperature').inputValue()).toBe('°C');
    expect(await page.getByRole('button', { name: /Back to .*Temperature/ }).count()).toBe(0);
  });

  test('quiet hours that were chosen are not kept, or cannot be given back', async () => {
    await open('#/settings');
    await page.locator('#low-from').fill('21:30');
    await page.getByRole('button', { name: 'Save the quiet hours of Have a look (low)' }).click();
    await page.getByText('Have a look (low): quiet from 21:30 to 07:00.').waitFor();
    await page.reload();
    await page.getByRole('button', { name: /^Back to .*Have a look/ }).waitFor();
    expect(await page.locator('#low-from').inputValue()).toBe('21:30');
    await page.getByRole('button', { name: /^Back to .*Have a look/ }).click();
    await page.getByText('Have a look (low): quiet from 22:00 to 07:00.').waitFor();
    await expectSoon(() => page.locator('#low-from').inputValue()).toBe('22:00');
  });

  test('the theme that a person chose is that of the device all the same, or is forgotten', async () => {
    const ground = () => page.evaluate(() => getComputedStyle(document.body).backgroundColor);
    const [dark, light] = ['rgb(18, 19, 15)', 'rgb(239, 236, 226)'];
    await open('#/settings');
    await expectSoon(ground).toBe(dark);
    await page.getByRole('button', { name: 'Light' }).click();
    await expectSoon(ground).toBe(light);
    await page.reload();
    await page.getByRole('button', { name: 'Light', pressed: true }).waitFor();
    await expectSoon(ground).toBe(light);
    await page.getByRole('button', { name: 'Same as device' }).click();
    await expectSoon(ground).toBe(dark);
    await page.emulateMedia({ colorScheme: 'light' });
    await expectSoon(ground).toBe(light);
    await page.emulateMedia({ colorScheme: 'dark' });
  });

  test('a band needs an editor and a shell, or is written unseen', async () => {
    await open('#/configuration');
    await page.getByText('Display tank', { exact: true }).click();
    const high = page.getByRole('group', { name: 'Band of temperature' }).getByLabel('High');
    expect(await high.inputValue()).toBe('26.5');
    await high.fill('warm');
    await page.getByRole('button', { name: 'Show what changes' }).click();
    await page.getByText('High: "warm" is not a number.').waitFor();
    await high.fill('27,2');
    await page.getByRole('button', { name: 'Show what changes' }).click();
    const lines = page.getByRole('list', { name: 'What changes in the file' });
    await lines.getByText('taken out:').waitFor();
    expect(await lines.textContent()).toMatch(/26\.5[\s\S]*27\.2/);
    expect(readFile(path)).toBe(text);
    for (const { size, scheme } of looks) {
      await page.setViewportSize(size);
      await page.emulateMedia({ colorScheme: scheme });
      await expectSound(page);
    }
    await page.setViewportSize(phone);
    await page.getByRole('button', { name: 'Write to the file' }).click();
    await page.getByText('Written to the file. It takes effect when the hub restarts.').waitFor();
    expect(readFile(path)).toBe(text.replace('"high":26.5', '"high":27.2'));
    await page.getByRole('button', { name: /^Undo the change of/ }).click();
    await page.getByRole('button', { name: /^Undo the change of/ }).waitFor({ state: 'detached' });
    expect(readFile(path)).toBe(text);
  });

  test('a file that was broken meanwhile is not seen, or its mistakes have no line', async () => {
    await open('#/configuration');
    await page.getByText(path).waitFor();
    await page.locator('[data-file-state="as_started"]').waitFor();
    const shown = (await page.locator('.config-text').textContent()) ?? '';
    expect(shown).toContain('prefix: reef');
    // What is not written in the file holds too.
    expect(shown).toContain('keep_readings_days: 400');
    const lines = text.split('\n');
    const at = lines.findIndex((line) => line.startsWith('systems:'));
    lines[at] = (lines[at] ?? '').replace('"volume_l":420', '"volume_l":"lots"');
    writeFileSync(path, `${lines.join('\n')}unknown_word: hunter4\n`);
    await page.getByRole('button', { name: 'Read the file again' }).click();
    await page.locator('[data-file-state="changed"]').waitFor();
    const faultsShown = page.getByRole('list', { name: 'Mistakes in the file' });
    await faultsShown.getByText(`Line ${at + 1}`, { exact: true }).waitFor();
    expect(await faultsShown.locator('li').count()).toBe(2);
    expect(await faultsShown.textContent()).toMatch(/volume_l.*lots/);
    expect(await page.content()).not.toMatch(/hunter\d/);
    // The running hub goes on with what was good.
    await open('#/');
    await page.locator('[data-metric="temperature"]').waitFor();
  });

  test('settings and configuration break WCAG 2.2 AA, overflow, or have targets too small', async () => {
    for (const { size, scheme } of looks) {
      await page.setViewportSize(size);
      await page.emulateMedia({ colorScheme: scheme });
      await open('#/settings');
      await page.locator('#low-to').waitFor();
      await expectSound(page);
      await open('#/configuration');
      await page.getByRole('list', { name: 'Mistakes in the file' }).waitFor();
      await expectSound(page);
    }
    await page.setViewportSize(phone);
    await open('#/settings');
    await page.getByRole('button', { name: 'Largest' }).click();
    await page.locator('#low-to').waitFor();
    await expectSound(page);
    expect(faults).toEqual([]);
  });
});
