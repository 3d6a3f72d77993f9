import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import type { Browser, Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import type { KeptEntry } from '#adapters/ports/store.ts';
import type { Hub } from '#hub/room/hub.ts';
import type { Metric } from '#rules/quantity/metric.ts';
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
import { configOf, getJson, roomText, scratchRoom, startHubHere } from '../../servers/hub-process.ts';

const minuteMs = 60_000;
const hourMs = 60 * minuteMs;
const yearMs = 365 * 24 * hourMs;

describe.skipIf(isMissing('chromium'))('the detail of a metric in a browser', () => {
  const scratch = scratchRoom();
  const pageDir = join(scratch.dir, 'page');
  const now = Date.now();
  let hub: Hub;
  let browser: Browser;
  let page: Page;
  let faults: string[] = [];
  const start = (temperature: { low: number; high: number }) => {
    const bands = { temperature, ph: { low: 7.8, high: 8.5 }, alkalinity: { low: 7.5, high: 9 } };
    const text = roomText(scratch.dir, {
      systems: [{ id: 'display', name: 'Display tank', volume_l: 420, bands }],
      probes: (['temperature', 'ph'] as const).map((metric) => {
        return { id: metric, system: 'display', metric, mqtt: { topic: `tank/${metric}` } };
      }),
    });
    return startHubHere(configOf(text), {}, pageDir);
  };
  const keep = (metric: Metric, minutes: number, valueAt: (minute: number) => number) =>
    hub.store.add(
      Array.from({ length: minutes }, (_, minute) => ({
        series: { system: 'display', metric, probe: metric },
        timeMs: now - (minutes - minute) * minuteMs,
        quality: { flag: 'pass' as const, value: valueAt(minute) },
      })),
    );
  const saved = async () => {
    const [file] = await Promise.all([
      page.waitForEvent('download'),
      page.getByRole('button', { name: 'Save as CSV' }).click(),
    ]);
    const [, ...rows] = readFileSync(await file.path(), 'utf8')
      .trim()
      .split('\r\n');
    return rows.map((row) => row.split(','));
  };

  beforeAll(async () => {
    await buildPage(pageDir);
    hub = await start({ low: 25, high: 26.5 });
    keep('temperature', 40 * 60, (minute) => (minute === 2000 ? 29.75 : 25.5 + (minute % 7) / 100));
    keep('ph', 40 * 60, (minute) => 8.1 + (minute % 5) / 100);
    await hub.stop();
    // The keeper has changed the band in the file.
    hub = await start({ low: 24.5, high: 26 });
    browser = await openBrowser();
    page = await browser.newPage({ viewport: phone, colorScheme: 'dark' });
    faults = listenForFaults(page);
    await page.goto(`${hub.url}/#/system/display/temperature`);
    await page.getByText('highest 29.75 °C').waitFor();
  }, 120_000);

  afterAll(async () => {
    await browser?.close();
    await hub?.stop();
    scratch.remove();
  });

  test('the chart judges last month by the band of today', async () => {
    await page.getByText(/The band was 25\.00 to 26\.50, from \d+ \w+, \d\d:\d\d 24\.50 to 26\.00\./).waitFor();
    const bands = (await saved()).filter(([, kind]) => kind === 'band').map(([, , low, high]) => [low, high]);
    expect(bands).toEqual([
      ['25', '26.5'],
      ['24.5', '26'],
    ]);
  });

  test('single readings cannot be seen, or too many of them stop the page', async () => {
    await page.getByRole('switch', { name: 'Single readings' }).click();
    await page.getByText(/^\d+ single readings\.$/).waitFor();
    const readings = (await saved()).filter(([, kind]) => kind === 'reading');
    // The last day, one a minute.
    expect(readings.length).toBeGreaterThan(1400);
    expect(readings.filter(([, , value]) => value === '29.75')).toHaveLength(1);
    await page.getByRole('button', { name: 'Month' }).click();
    await page.getByText('Too many single readings for this span').waitFor();
    expect((await saved()).filter(([, kind]) => kind === 'reading')).toEqual([]);
    await page.getByRole('button', { name: 'Hour' }).click();
    await page.getByText(/^\d+ single readings\.$/).waitFor();
    await page.getByRole('switch', { name: 'Single readings' }).click();
    await page.getByText(/single readings\.$/).waitFor({ state: 'detached' });
    await page.getByRole('button', { name: 'Day', exact: true }).click();
  });

  test('two metrics cannot be seen together, or told apart by colour alone', async () => {
    await page.getByLabel('Compare with').selectOption('pH');
    await page.getByText('pH, dashes and dots, scale to the right: Lowest 8.10').waitFor();
    const rows = await saved();
    const values = rows.filter(([, kind]) => kind === 'readings of ph').map(([, , low, high]) => [low, high]);
    expect(values.length).toBeGreaterThan(100);
    expect(values.every(([low, high]) => Number(low) >= 8.1 && Number(high) <= 8.14)).toBe(true);
    expect(rows.some(([, kind, , high]) => kind === 'readings' && high === '29.75')).toBe(true);
  });

  test('wheel, fingers and keys do not move the chart', async () => {
    const span = page.locator('p[role="status"]', { hasText: ' to ' }).first();
    const hours = async () => {
      const [from, to] = ((await span.textContent()) ?? '').split(' to ').map((text) => Date.parse(`${text} 2026 UTC`));
      // A span over New Year's Eve begins in the year before.
      return (((to ?? 0) - (from ?? 0) + yearMs) % yearMs) / hourMs;
    };
    const before = await hours();
    await page.locator('.chart canvas').scrollIntoViewIfNeeded();
    const box = await page.locator('.chart canvas').boundingBox();
    if (box === null) throw new Error('the chart is not there');
    await page.mouse.move(box.x + box.width / 2, box.y + 60);
    await page.keyboard.down('Shift');
    await page.mouse.wheel(0, -400);
    await page.keyboard.up('Shift');
    await expectSoon(hours).toBeLessThan(before * 0.6);
    const [wheeled, words] = [await hours(), await span.textContent()];
    await page.mouse.down();
    await page.mouse.move(box.x + box.width / 2 + 80, box.y + 60, { steps: 4 });
    await page.mouse.up();
    await expectSoon(() => span.textContent()).not.toBe(words);
    expect(Math.abs((await hours()) - wheeled)).toBeLessThan(0.1);
    await page.locator('.chart').focus();
    await page.keyboard.press('-');
    await expectSoon(hours).toBeGreaterThan(wheeled * 1.3);
    await page.getByRole('button', { name: 'Day', exact: true }).click();
  });

  test('two fingers zoom the chart by less than they go apart, or scroll the page, or only zoom sideways', async () => {
    const span = page.locator('p[role="status"]', { hasText: ' to ' }).first();
    const bounds = async () =>
      ((await span.textContent()) ?? '').split(' to ').map((text) => Date.parse(`${text} 2026 UTC`) / hourMs);
    const width = async () => {
      const [from, to] = await bounds();
      return ((to ?? 0) - (from ?? 0) + yearMs / hourMs) % (yearMs / hourMs);
    };
    const before = await width();
    const box = await page.locator('.chart canvas').boundingBox();
    if (box === null) throw new Error('the chart is not there');
    const scrolled = await page.evaluate(() => scrollY);
    const session = await page.context().newCDPSession(page);
    await session.send('Emulation.setTouchEmulationEnabled', { enabled: true, maxTouchPoints: 2 });
    const middle = { x: box.x + box.width / 2, y: box.y + box.height / 2 };
    const fingers = (apartX: number, apartY: number) => [
      { id: 0, x: middle.x - apartX / 2, y: middle.y - apartY / 2 },
      { id: 1, x: middle.x + apartX / 2, y: middle.y + apartY / 2 },
    ];
    const touch = (type: 'touchStart' | 'touchMove' | 'touchEnd', touchPoints: ReturnType<typeof fingers>) =>
      session.send('Input.dispatchTouchEvent', { type, touchPoints });
    /** From 60 px apart to 180 in ten steps, along the given direction. */
    const spread = async (alongX: number, alongY: number) => {
      await touch('touchStart', fingers(60 * alongX, 60 * alongY));
      for (let step = 1; step <= 10; step += 1) {
        const apart = 60 + 12 * step;
        await touch('touchMove', fingers(apart * alongX, apart * alongY));
      }
      await touch('touchEnd', []);
    };
    await spread(1, 0);
    // Times are told to the minute.
    await expectSoon(async () => Math.abs((await width()) - before / 3)).toBeLessThan(0.1);
    await spread(0.28, 0.96);
    await expectSoon(async () => Math.abs((await width()) - before / 9)).toBeLessThan(0.1);
    expect(await page.evaluate(() => scrollY)).toBe(scrolled);
    await session.send('Emulation.setTouchEmulationEnabled', { enabled: false });
    await page.getByRole('button', { name: 'Day', exact: true }).click();
  });

  test.each(looks)('somebody cannot read or tap it: $scheme at $size.width', async ({ size, scheme }) => {
    await page.setViewportSize(size);
    await page.emulateMedia({ colorScheme: scheme });
    await page.locator('details').evaluateAll((all) => {
      for (const each of all) (each as HTMLDetailsElement).open = true;
    });
    await expectSound(page);
  });

  test('what a tank uses is not drawn beside its level, saved with it, or told apart from the arrivals that raised it', async () => {
    const dayMs = 24 * hourMs;
    for (let day = 20; day >= 1; day -= 1) {
      // By hand: without dosing the level falls by 0.1 a day, and from the arrival ten days ago by 0.15.
      const value = 9.5 - 0.1 * (20 - day) - 0.05 * Math.max(0, 10 - day);
      const time = new Date(now - day * dayMs).toISOString();
      hub.entries.test({ system: 'display', analyte: 'alkalinity', value, sd: 0.05, time, confirmed: true }, now);
    }
    const timeMs = now - 10 * dayMs;
    hub.store.commit({
      entries: [
        { kind: 'arrival', timeMs, recordedMs: now, system: 'display', body: { event: 'arrived' } },
        // Looked at a week later: nothing came.
        ...[{ event: 'inspected' as const, findings: 'nothing' }].map((body) => ({
          ...{ kind: 'arrival' as const, timeMs: timeMs + 7 * dayMs, recordedMs: now, system: 'display', body },
        })),
      ],
    });
    await page.setViewportSize(phone);
    await page.goto(`${hub.url}/#/system/display/alkalinity`);
    const part = page.getByRole('region', { name: 'Alkalinity used a day' });
    await part
      .getByText(/: 0\.1\d dKH a day, 19 times in 20 between 0\.\d\d and 0\.\d\d\. Corals arrived on \d+ \w+\.$/)
      .waitFor();
    const used = (await saved()).filter(([, kind]) => kind === 'used a day');
    expect(used.length).toBeGreaterThan(50);
    expect(used.every(([, , low, high, unit]) => Number(low) < Number(high) && unit === 'dKH a day')).toBe(true);
    const middle = (ago: number): number =>
      Number(used.findLast(([time]) => Date.parse(time ?? '') < now - ago * dayMs)?.at(-1));
    expect(middle(15)).toBeCloseTo(0.1, 1);
    expect(middle(2)).toBeGreaterThan(middle(15) + 0.02);
    const kinds = (await saved()).map(([, kind]) => kind);
    expect(kinds).toContain('estimated');
    expect(kinds).toContain('arrival');
    await expectSound(page);
  });

  test('what the new water holds is not kept, not remembered, or a slip in it is stored unasked', async () => {
    const changes = async () =>
      (await getJson<KeptEntry[]>(`${hub.url}/api/entries?kind=water_change`)).map(({ body }) => body);
    await page.goto(`${hub.url}/#/`);
    await page.getByRole('button', { name: 'Log a water change' }).click();
    await page.getByText('The new water: not known').click();
    await page.getByLabel('Amount').fill('40');
    await page.getByLabel('Alkalinity, dKH').fill('8,1');
    await page.getByLabel('Calcium, mg/L').fill('1050');
    await page.getByRole('button', { name: 'Save', exact: true }).click();
    await page.getByText('New water. Calcium: 1050 mg/L is outside').waitFor();
    expect(await changes()).toEqual([]);
    await page.getByLabel('Calcium, mg/L').fill('420');
    await page.getByRole('button', { name: 'Save', exact: true }).click();
    await page.getByText('Saved: water change of 40 L.').waitFor();
    expect(await changes()).toMatchObject([{ volume_l: 40, alkalinity_dkh: 8.1, calcium_mg_l: 420 }]);
    await page.reload();
    await page.getByRole('button', { name: 'Log a water change' }).click();
    await page.getByText('The new water: Alkalinity, dKH 8.1 · Calcium, mg/L 420').waitFor();
    await page.getByLabel('Amount').fill('400');
    await page.getByRole('button', { name: 'Save', exact: true }).click();
    await page.getByText('400 L is 95 % of the 420 L of Display tank. Is the number right?').waitFor();
    await page.getByRole('button', { name: 'It really is 400 L' }).click();
    await page.getByText('Saved: water change of 400 L.').waitFor();
    expect(await changes()).toHaveLength(2);
    expect(faults).toEqual([]);
  });
});
