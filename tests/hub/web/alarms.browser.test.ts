import { join } from 'node:path';
import mqtt, { type MqttClient } from 'mqtt';
import type { Browser, Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import type { KeptEntry } from '#adapters/ports/store.ts';
import type { Hub } from '#hub/room/hub.ts';
import type { StandingAlarm } from '#rules/bands/room.ts';
import { buildPage, expectSound, listenForFaults, looks, openBrowser, phone } from '../../browser/page-kit.ts';
import { isMissing } from '../../machine/parts.mjs';
import { configOf, getJson, postJson, roomText, scratchRoom, startHubHere } from '../../servers/hub-process.ts';

const hourMs = 3_600_000;

describe.skipIf(isMissing('chromium'))('alarms in a browser', () => {
  const scratch = scratchRoom();
  let hub: Hub;
  let browser: Browser;
  let page: Page;
  let probe: MqttClient;
  let feeding: NodeJS.Timeout;
  let faults: string[] = [];
  const standing = () => getJson<StandingAlarm[]>(`${hub.url}/api/alarms`);
  const windows = () =>
    getJson<{ system: string; probe?: string; until: string; by: string }[]>(`${hub.url}/api/maintenance`);
  const alarm = () => page.locator('.alarm', { hasText: 'Temperature is 27.2' });

  beforeAll(async () => {
    await buildPage(join(scratch.dir, 'page'));
    const text = roomText(scratch.dir, {
      probes: [{ id: 't', system: 'display', metric: 'temperature', mqtt: { topic: 'tank/t' } }],
      rules: [{ rule: 'out_of_band', metric: 'temperature', on_delay_minutes: 0, off_delay_minutes: 0 }],
    });
    hub = await startHubHere(configOf(text), {}, join(scratch.dir, 'page'));
    probe = await mqtt.connectAsync(`mqtt://127.0.0.1:${hub.brokerPort}`);
    feeding = setInterval(() => probe.publish('tank/t', '27.2'), 200);
    browser = await openBrowser();
    page = await browser.newPage({ viewport: phone, colorScheme: 'dark' });
    faults = listenForFaults(page);
    await page.goto(`${hub.url}/#/alarms`);
    await alarm().waitFor();
  }, 120_000);

  afterAll(async () => {
    clearInterval(feeding);
    await browser?.close();
    await probe?.endAsync(true);
    await hub?.stop();
    scratch.remove();
  });

  test('a history that the hub cannot read breaks the page of the alarms, or passes for an empty one', async () => {
    const other = await browser.newPage({ viewport: phone });
    const problem = { title: 'The hub failed to answer', status: 503, detail: 'its disk does not answer' };
    await other.route('**/api/entries?kind=alarm*', (route) =>
      route.fulfill({ status: 503, contentType: 'application/problem+json', body: JSON.stringify(problem) }),
    );
    await other.goto(`${hub.url}/#/alarms`);
    const said = other.getByRole('alert').filter({ hasText: 'Cannot read the history: its disk does not answer' });
    await said.waitFor({ timeout: 10_000 });
    await other.locator('.alarm', { hasText: 'Temperature is 27.2' }).waitFor();
    await other.close();
  });

  test('an alarm cannot be shelved for a time, or nobody sees until when and why', async () => {
    await alarm().getByRole('button', { name: 'Silence for a while' }).click();
    await alarm().getByLabel('Or hours').fill('200');
    await alarm().getByRole('button', { name: 'Silence', exact: true }).click();
    await alarm().getByText('Enter a time, up to 12 hours.').waitFor();
    expect((await standing())[0]?.state).toBe('unacknowledged');
    await alarm().getByLabel('Or hours').fill('2,5');
    await alarm().getByLabel('Why').fill('heater is on its way');
    await alarm().getByLabel('Your name').fill('Ana');
    const before = Date.now();
    await alarm().getByRole('button', { name: 'Silence', exact: true }).click();
    await alarm()
      .getByText(/silenced until \d+ \w+, \d\d:\d\d/)
      .waitFor();
    const [kept] = await standing();
    expect(kept?.state).toBe('shelved');
    expect(Math.abs((kept?.untilMs ?? 0) - before - 2.5 * hourMs)).toBeLessThan(60_000);
    await page.locator('.history li', { hasText: '(Ana: heater is on its way)' }).waitFor();
    const told = await getJson<KeptEntry[]>(`${hub.url}/api/entries?kind=alarm`);
    const shelved = told.find(({ body }) => body['state'] === 'shelved');
    expect(shelved?.body).toMatchObject({ by: 'Ana', why: 'heater is on its way' });
  });

  test('a shelving cannot be ended, or a ready choice is another time than it says', async () => {
    await alarm().getByRole('button', { name: 'Unsilence' }).click();
    await alarm().getByRole('button', { name: 'Silence for a while' }).click();
    // Temperature asks to act now: nobody silences it for days, or without a word.
    expect(await alarm().getByRole('button', { name: '1 day' }).count()).toBe(0);
    await alarm().getByRole('button', { name: '4 hours' }).click();
    await alarm().getByRole('button', { name: 'Silence', exact: true }).click();
    expect((await standing())[0]?.state).not.toBe('shelved');
    await alarm().getByLabel('Why').fill('cooling with ice');
    const before = Date.now();
    await alarm().getByRole('button', { name: 'Silence', exact: true }).click();
    await alarm()
      .getByText(/silenced until/)
      .waitFor();
    expect(Math.abs(((await standing())[0]?.untilMs ?? 0) - before - 4 * hourMs)).toBeLessThan(60_000);
    await alarm().getByRole('button', { name: 'Unsilence' }).click();
    await alarm().getByRole('button', { name: 'Acknowledge' }).waitFor();
  });

  test('the phone or a script silences an alarm that asks to act now, for days or without a reason', async () => {
    const [{ id } = { id: '' }] = await standing();
    const silence = (more: Record<string, unknown>) => postJson(`${hub.url}/api/alarms/shelve`, { alarm: id, ...more });
    const unsaid = await silence({ minutes: 30 });
    expect(unsaid.status).toBe(422);
    expect(await unsaid.json()).toMatchObject({ type: 'urn:brinekeep:problem:no_reason' });
    const long = await silence({ minutes: 24 * 60, why: 'away' });
    expect(await long.json()).toMatchObject({ detail: expect.stringContaining('at most 12 h') });
    const answers: string[] = [];
    await probe.subscribeAsync('brinekeep/phone');
    probe.on('message', (_topic, payload) => answers.push(payload.toString()));
    await probe.publishAsync('brinekeep/command', `silence ${id} 30`);
    await expect.poll(() => answers.join('\n'), { timeout: 20_000 }).toContain('say why it is silenced');
    expect((await standing())[0]?.state).toBe('unacknowledged');
  });

  test('maintenance cannot be begun, is not seen on the first view, or is lost in a power cut', async () => {
    await page.getByRole('button', { name: 'Start maintenance' }).click();
    await page.getByLabel('Of it').selectOption('Temperature probe');
    await page.getByRole('button', { name: '1 hour' }).first().click();
    await page.locator('#maintenance-why').fill('new glass in the sump');
    const before = Date.now();
    await page.getByRole('button', { name: 'Start', exact: true }).click();
    const banner = page.locator('.maintenance li', {
      hasText: 'Display tank, temperature probe: in maintenance until',
    });
    await banner.waitFor();
    const [window] = await windows();
    expect(window).toMatchObject({ system: 'display', probe: 't', by: 'Ana: new glass in the sump' });
    expect(Math.abs(Date.parse(window?.until ?? '') - before - hourMs)).toBeLessThan(60_000);
    expect(JSON.parse(hub.store.document('rules-state') ?? '{}')).toMatchObject({
      maintenance: [{ probe: 't' }],
    });
    await page.goto(`${hub.url}/#/`);
    await banner.waitFor();
  });

  test.each(looks)('somebody cannot read or tap it: $scheme at $size.width', async ({ size, scheme }) => {
    await page.setViewportSize(size);
    await page.emulateMedia({ colorScheme: scheme });
    await page.goto(`${hub.url}/#/alarms`);
    for (const name of ['Start maintenance', 'Silence for a while']) {
      const button = page.getByRole('button', { name, exact: true }).first();
      if ((await button.getAttribute('aria-expanded')) === 'false') await button.click();
    }
    await expectSound(page);
  });

  test('maintenance cannot be ended early', async () => {
    await page.getByRole('button', { name: 'End the maintenance of' }).click();
    await page.locator('.maintenance').waitFor({ state: 'detached' });
    expect(await windows()).toEqual([]);
    const told = await getJson<KeptEntry[]>(`${hub.url}/api/entries?kind=alarm`);
    expect(told.map(({ body }) => body['state'])).toEqual(expect.arrayContaining(['raised', 'shelved', 'unshelved']));
    expect(faults).toEqual([]);
  });
});
