import { join } from 'node:path';
import mqtt, { type MqttClient } from 'mqtt';
import type { Browser, Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import type { CalibrationsOfProbe } from '#hub/api/calibrations.ts';
import type { ProbeDetail } from '#hub/api/probes.ts';
import type { Hub } from '#hub/room/hub.ts';
import {
  buildPage,
  expectSound,
  listenForFaults,
  looks,
  openBrowser,
  phone,
  tablet,
  tabTo,
} from '../../browser/page-kit.ts';
import { isMissing } from '../../machine/parts.mjs';
import { freePort } from '../../servers/free-port.ts';
import { configOf, getJson, roomText, scratchRoom, startHubHere } from '../../servers/hub-process.ts';

/** pH of the buffers at 25 °C. @source NBS/NIST-IUPAC primary buffers, as in fixtures/reference/ph-buffers.csv */
const phosphate_25C = 6.865;
const borax_25C = 9.18;

describe.skipIf(isMissing('chromium'))('the probes in a browser', { timeout: 90_000 }, () => {
  const scratch = scratchRoom();
  const probes = ['ph', 'old', 'third', 't'] as const;
  let faults: string[] = [];
  let hub: Hub;
  let client: MqttClient;
  let browser: Browser;
  let page: Page;

  /** Half a minute and more of a probe, told at once: each value carries its own time. */
  async function send(probe: string, value: number, endsSecondsAgo: number): Promise<void> {
    const endMs = Date.now() - endsSecondsAgo * 1000;
    for (let back = 8; back >= 0; back -= 1) {
      const t = new Date(endMs - back * 4500).toISOString();
      // The last digit of a meter is never quiet.
      const v = value + (back % 2 === 0 ? 0 : 0.002);
      await client.publishAsync(`tank/${probe}`, JSON.stringify({ v, t }), { qos: 1 });
    }
  }
  const opened = async (probe: string) => {
    await page.goto(`${hub.url}/#/probes/${probe}`);
    await page.getByRole('button', { name: 'Take this value' }).waitFor();
  };
  const settled = (wire: string) =>
    page
      .locator('.live-wire', { hasText: wire })
      .filter({ has: page.locator('[data-steadiness="steady"]') })
      .waitFor();
  const inBuffer = async (buffer: string, expected: number) => {
    await page.locator('#buffer').selectOption(buffer);
    await page.locator(`[data-buffer-ph="${expected.toFixed(3)}"]`).waitFor();
  };
  const take = () => page.getByRole('button', { name: 'Take this value' }).click();
  const keptOf = (probe: string) => getJson<CalibrationsOfProbe>(`${hub.url}/api/calibrations?probe=${probe}`);

  beforeAll(async () => {
    await buildPage(join(scratch.dir, 'page'));
    const broker = await freePort();
    const text = roomText(scratch.dir, {
      broker: { port: broker },
      probes: probes.map((id) => ({
        ...{ id, system: 'display', metric: id === 't' ? 'temperature' : 'ph' },
        mqtt: { topic: `tank/${id}`, format: 'json', channel: 'v', time_path: 't' },
      })),
    });
    hub = await startHubHere(configOf(text), {}, join(scratch.dir, 'page'));
    client = await mqtt.connectAsync(`mqtt://127.0.0.1:${broker}`);
    browser = await openBrowser();
    page = await browser.newPage({ viewport: phone, colorScheme: 'dark' });
    page.setDefaultTimeout(20_000);
    faults = listenForFaults(page);
  });

  afterAll(async () => {
    await browser?.close();
    await client?.endAsync(true);
    await hub?.stop();
    scratch.remove();
  });

  test('a pH probe cannot be calibrated in two buffers by taps, or nothing comes of it', async () => {
    await send('ph', 6.9, 42);
    await opened('ph');
    await page.getByRole('button', { name: 'No alarms from it for an hour' }).click();
    await page.getByText('it raises no alarm until').waitFor();
    await settled('6.900');
    await inBuffer('phosphate_equimolal', phosphate_25C);
    await take();
    await page.getByText('one buffer only').waitFor();
    await send('ph', 9.17, 1);
    await settled('9.170');
    await inBuffer('borax', borax_25C);
    await take();
    // The slope is the ratio of the two steps in pH, since this meter assumes an ideal electrode at 25 °C.
    const slope = (100 * (9.17 - 6.9)) / (borax_25C - phosphate_25C);
    await page.getByText(`slope ${slope.toFixed(1)} %`).waitFor();
    expect((await keptOf('ph')).calibrations).toEqual([]);
    await page.getByLabel('Who').fill('Ana (invented)');
    await page.getByRole('button', { name: 'Save this calibration' }).click();
    await page.getByText('Saved. It applies from the next reading.').waitFor();
    const [kept] = (await keptOf('ph')).calibrations;
    expect(kept).toMatchObject({ by: 'Ana (invented)', why: 'routine', verdict: { state: 'good' } });
    // What the probe sends in the second buffer reads as that buffer from now on.
    await client.publishAsync('tank/ph', JSON.stringify({ v: 9.17 }), { qos: 1 });
    await page.locator('.probe-now', { hasText: borax_25C.toFixed(2) }).waitFor();
    await page.getByRole('button', { name: 'It is back in the water' }).click();
    await page.getByText('This probe still raises alarms').waitFor();
  });

  test('an electrode past saving is kept as if it were good, or the same number in two buffers is', async () => {
    await send('old', 6.9, 42);
    await opened('old');
    await settled('6.900');
    await inBuffer('phosphate_equimolal', phosphate_25C);
    await take();
    await inBuffer('borax', borax_25C);
    await take();
    await page.locator('.verdict-refused', { hasText: 'Not taken' }).waitFor();
    expect(await page.getByRole('button', { name: /^Keep/ }).count()).toBe(0);
    await page.getByRole('button', { name: /Leave out .* in pH 9\.180/ }).click();
    await send('old', 8.7, 1);
    await settled('8.700');
    await take();
    await page.locator('.verdict-replace', { hasText: 'worn out, replace it' }).waitFor();
    await page.getByText(/slope: found 77\.8 % of the ideal slope/).waitFor();
    await page.getByRole('button', { name: 'Save it anyway' }).waitFor();
    expect((await keptOf('old')).calibrations).toEqual([]);
  });

  test('a value that still moves is taken without a word', async () => {
    for (let back = 8; back >= 0; back -= 1) {
      const t = new Date(Date.now() - back * 4500).toISOString();
      await client.publishAsync('tank/third', JSON.stringify({ v: 7.6 - 0.06 * (8 - back), t }), { qos: 1 });
    }
    await opened('third');
    await page.locator('[data-steadiness="moving"]', { hasText: 'still moving' }).waitFor();
    await take();
    await page.getByText('Taken, but the probe had not settled').waitFor();
    await page.getByText('(not yet steady)').waitFor();
  });

  test('with the keyboard alone no probe can be calibrated', async () => {
    await send('t', 25.4, 1);
    await opened('t');
    await settled('25.400');
    await tabTo(page, 'reference');
    await page.keyboard.type('25,1');
    await tabTo(page, 'Take this value');
    await page.keyboard.press('Enter');
    await page.getByText('offset -0.300').waitFor();
    await page.getByRole('button', { name: 'Save this calibration' }).waitFor();
    await tabTo(page, 'by');
    await page.keyboard.press('Control+A');
    await page.keyboard.type('Rui (invented)');
    await page.keyboard.press('Enter');
    await page.getByText('Saved. It applies from the next reading.').waitFor();
    const { calibrations } = await keptOf('t');
    expect(calibrations).toHaveLength(1);
    expect(calibrations[0]?.correction.offset).toBeCloseTo(25.1 - 25.4, 6);
    await client.publishAsync('tank/t', JSON.stringify({ v: 25.4 }), { qos: 1 });
    await page.locator('.probe-now', { hasText: '25.10' }).waitFor();
  });

  test('a calibration cannot be taken back, or not be laid over what is stored', async () => {
    await opened('t');
    const [kept] = (await keptOf('t')).calibrations;
    await page.getByText('Correct stored readings by it').click();
    await page.getByRole('button', { name: 'Correct them' }).click();
    await page.getByText(/^9 readings corrected/).waitFor();
    expect((await getJson<ProbeDetail>(`${hub.url}/api/probes/t`)).calibration?.id).toBe(kept?.id);
    await page.getByRole('button', { name: 'Take back' }).click();
    await page.getByText('Never calibrated here.').waitFor();
    expect((await keptOf('t')).calibrations).toEqual([]);
  });

  test('the views of the probes break WCAG 2.2 AA, overflow, or have targets too small for a wet finger', async () => {
    await send('ph', 8.1, 1);
    for (const { size, scheme } of looks) {
      await page.setViewportSize(size);
      await page.emulateMedia({ colorScheme: scheme });
      await page.goto(`${hub.url}/#/probes`);
      await page.locator('[data-probe="ph"]', { hasText: 'good, slope' }).waitFor();
      await expectSound(page);
      await opened('ph');
      await page.getByText('Ana (invented): routine').waitFor();
      if (size !== tablet) await take();
      await expectSound(page);
    }
    expect(faults).toEqual([]);
  });
});
