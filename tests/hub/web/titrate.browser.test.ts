import { join } from 'node:path';
import type { Browser, Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { hubAdaptersOn } from '#hub/compose.ts';
import type { Hub } from '#hub/room/hub.ts';
import { seededRandom } from '../../../hub/demo/seeded-random.ts';
import { createManualClock } from '../../adapters/clock/manual-clock.ts';
import { buildPage, expectSound, listenForFaults, openBrowser, phone } from '../../browser/page-kit.ts';
import { isMissing } from '../../machine/parts.mjs';
import { gaussianFrom, simulatedBeaker } from '../../rules/titration/simulated-beaker.ts';
import { usualTruth } from '../../rules/titration/simulated-run.ts';
import { configOf, roomText, scratchRoom, startHubHere } from '../../servers/hub-process.ts';

describe.skipIf(isMissing('chromium'))('a titration in a browser', { timeout: 240_000 }, () => {
  const scratch = scratchRoom();
  const clock = createManualClock(Date.parse('2026-06-01T12:00:00Z'));
  const beaker = simulatedBeaker(usualTruth, gaussianFrom(seededRandom(5)));
  let time_s = 0;
  let faults: string[] = [];
  let hub: Hub;
  let browser: Browser;
  let page: Page;

  /** Readings as the pipeline would have stored them. */
  function pass(seconds: number): void {
    for (let second = 0; second < seconds; second += 1) {
      clock.advance(1000);
      time_s += 1;
      beaker.goOnTo(time_s);
      const series = { system: 'display', metric: 'ph', probe: 'ph-1' } as const;
      hub.store.add([{ series, timeMs: clock.nowMs(), quality: { flag: 'pass', value: beaker.shown() } }]);
    }
  }

  beforeAll(async () => {
    await buildPage(join(scratch.dir, 'page'));
    const text = roomText(scratch.dir, {
      probes: [{ id: 'ph-1', system: 'display', metric: 'ph', mqtt: { topic: 'ph', format: 'number' } }],
    });
    hub = await startHubHere(configOf(text), hubAdaptersOn(clock), join(scratch.dir, 'page'));
    browser = await openBrowser();
    page = await browser.newPage({ viewport: phone, colorScheme: 'dark' });
    page.setDefaultTimeout(20_000);
    faults = listenForFaults(page);
  });
  afterAll(async () => {
    await browser?.close();
    await hub?.stop();
    scratch.remove();
  });

  test('a person with wet hands cannot titrate by the one large button, or does not read the cautions', async () => {
    await page.goto(`${hub.url}/#/probes/ph-1`);
    await page.getByRole('link', { name: 'Titrate alkalinity with it' }).click();
    await page.getByRole('heading', { name: 'Titrate alkalinity' }).waitFor();
    await page.getByRole('button', { name: 'Start' }).click();
    // The tank's salinity is not known: it is asked for beside its field.
    await page.getByText('the salinity of display is not known', { exact: false }).waitFor();
    await page.getByLabel('Salinity (empty: as the tank)').fill('35');
    await page.getByLabel('Sample temperature (empty: as the tank)').fill('25');
    await page.getByLabel('Sample in').selectOption('sample_g');
    await page.getByLabel('Strength in').selectOption('acid_mol_kg');
    await page.getByLabel('Acid measured in').selectOption('g');
    await page.getByLabel('CO2 driven off by').selectOption('bubbled');
    await page.getByRole('button', { name: 'Start' }).click();
    await page.getByText('never water into acid', { exact: false }).waitFor();
    await expectSound(page);

    const add = page.getByRole('button', { name: /^[\d.]+ g is in$/ });
    const save = page.getByRole('button', { name: 'Save the result' });
    pass(40);
    for (let portion = 0; portion < 25; portion += 1) {
      await add.or(save).first().waitFor();
      if (await save.isVisible()) break;
      const words = (await add.textContent()) ?? '';
      beaker.add(Number.parseFloat(words));
      await add.click();
      await page.getByText(`${portion + 1} portion`, { exact: false }).waitFor();
      // A portion settles within two minutes; the wait for the CO2 takes up to six.
      for (let wait = 0; wait < 30; wait += 1) {
        pass(20);
        await page.waitForTimeout(1100);
        if ((await add.or(save).count()) > 0) break;
      }
    }
    await page.getByText(/from \d+ points/).waitFor();
    await expectSound(page);
    await save.click();
    await page.getByText(/^Saved: alkalinity 7\.\d+ dKH ± 0\.\d\d dKH/).waitFor();
    const [entry] = hub.store.journal({ kind: 'test' });
    // 2500 µmol/kg × 1.02334 kg/L / 0.356652 meq/L: by hand 7.173 dKH.
    expect(Math.abs(Number(entry?.body['value']) - 7.173)).toBeLessThan(0.1);
    expect(faults).toEqual([]);
  });

  test('a kit cannot be held against a reference by taps, or the page does not say what that makes of it', async () => {
    await page.goto(`${hub.url}/#/more`);
    await page.getByRole('link', { name: 'Test kits' }).click();
    await page.getByLabel('Name').fill('drops');
    await page.getByLabel('Lot', { exact: true }).fill('A1');
    await page.getByLabel('Smallest step of the scale').fill('0,1');
    await page.getByRole('button', { name: 'Save, opened today' }).click();
    await page.getByRole('heading', { name: 'drops, lot A1: Alkalinity' }).waitFor();
    await page.getByRole('button', { name: 'Save the comparison' }).click();
    await page.getByText('Enter what the kit found').waitFor();
    await page.getByLabel('Kit result, dKH').fill('8.3 8,5 8.4');
    await page.getByLabel('Reference value, dKH').fill('8');
    await page.getByLabel('Standard uncertainty of the reference, dKH').fill('0.05');
    await page.getByRole('button', { name: 'Save the comparison' }).click();
    // Differences 0.3, 0.5, 0.4: mean 0.4, standard deviation 0.1.
    await page
      .getByText(/Reads 0\.4 dKH too high, 95 % within .* from 3 tests\. Scatter of one test 0\.1 dKH/)
      .waitFor();
    // The water that the hub has just titrated is a reference as well, without a number to type.
    const titrated = await page.getByLabel('Held against').locator('option', { hasText: 'Titration of' }).textContent();
    expect(titrated).toMatch(/: 7\.\d\d dKH$/);
    await page.getByLabel('Held against').selectOption({ label: titrated! });
    await page.getByLabel('Kit result, dKH').fill('7.6');
    await page.getByRole('button', { name: 'Save the comparison' }).click();
    await page.getByText(/ from 4 tests\./).waitFor();
    await expectSound(page);
    expect(faults).toEqual([]);
  });
});
