import { writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { pathToFileURL } from 'node:url';
import type { Browser, Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import type { ReviewFigures } from '#hub/model/answers/review-schema.ts';
import { isoWeekAt, weekAfter, weekBounds } from '#hub/model/calendar/iso-week.ts';
import type { Hub } from '#hub/room/hub.ts';
import { buildPage, expectSound, listenForFaults, looks, openBrowser, phone, tabTo } from '../../browser/page-kit.ts';
import { isMissing } from '../../machine/parts.mjs';
import { configOf, getJson, roomText, scratchRoom, startHubHere } from '../../servers/hub-process.ts';
import { alarm, entry, everyTenMinutes } from '../reports/week/review-room.ts';

const hourMs = 3_600_000;
const dayMs = 24 * hourMs;

describe.skipIf(isMissing('chromium'))('the review of a week in a browser', () => {
  const scratch = scratchRoom();
  const week = weekAfter(isoWeekAt(Date.now(), 'Europe/Lisbon'), -1);
  const hostile = `<img src="http://192.0.2.1/x.png" onerror="document.title='taken'">`;
  let hub: Hub;
  let browser: Browser;
  let page: Page;
  let faults: string[];

  beforeAll(async () => {
    await buildPage(join(scratch.dir, 'page'));
    const probes = [
      { id: 't', name: hostile.slice(0, 60), system: 'display', metric: 'temperature', mqtt: { topic: 'tank/t' } },
      { id: 'ph', system: 'display', metric: 'ph', mqtt: { topic: 'tank/ph' } },
    ];
    hub = await startHubHere(configOf(roomText(scratch.dir, { probes })), {}, join(scratch.dir, 'page'));
    const { startMs, endMs } = weekBounds(week, 'Europe/Lisbon');
    const swing = (timeMs: number) => 25.8 + Math.sin((timeMs / dayMs) * 2 * Math.PI) * 0.9;
    hub.store.add([
      ...everyTenMinutes('t', 'temperature', startMs, endMs, swing),
      ...everyTenMinutes('ph', 'ph', startMs, startMs + 2 * dayMs, () => 8.1),
    ]);
    hub.store.flush();
    hub.store.commit({
      entries: [
        ...[-9, -6, -4, -2, 1, 3, 5].map((day) =>
          entry('test', startMs + day * dayMs, { analyte: 'alkalinity', value: 8.2 - day * 0.05, sd: 0.1 }),
        ),
        entry('dose', startMs + dayMs, { substance: 'sodium_carbonate', grams: 12, note: hostile }),
        entry('arrival', startMs + dayMs, { event: 'arrived', name: hostile, pieces: [{ kind: hostile, count: 2 }] }),
        alarm('display/temperature/out_of_band/high', 'raised', startMs + hourMs),
        alarm('display/temperature/out_of_band/high', 'cleared', startMs + 5 * hourMs),
      ],
    });
    browser = await openBrowser();
    page = await browser.newPage({ viewport: phone, colorScheme: 'dark' });
    faults = listenForFaults(page);
  }, 120_000);

  afterAll(async () => {
    await browser?.close();
    await hub?.stop();
    scratch.remove();
  });

  test('with the keyboard alone no week can be opened, or it shows other figures than the API gives', async () => {
    await page.goto(`${hub.url}/#/week`);
    await page.getByRole('heading', { name: 'Weeks' }).waitFor();
    await tabTo(page, `${week}: review`);
    await page.keyboard.press('Enter');
    await page.getByRole('heading', { name: /^Week \d+ of 20\d\d, Fish room/ }).waitFor();
    const figures = await getJson<ReviewFigures>(`${hub.url}/api/weeks/${week}/review`);
    expect(figures.bands.map(({ metric }) => metric)).toEqual(expect.arrayContaining(['temperature', 'ph']));
    const text = (await page.locator('main').textContent()) ?? '';
    expect(text).toContain(figures.line);
    for (const { what } of figures.toDo) expect(text).toContain(what);
    expect(figures.toDo.length).toBeGreaterThan(0);
    // What a person typed stands there as text.
    expect(text).toContain(hostile);
    expect(await page.locator('main img').count()).toBe(0);
    await tabTo(page, 'Print');
    await page.evaluate(() => {
      window.print = () => {
        document.title = 'printed';
      };
    });
    await page.keyboard.press('Enter');
    expect(await page.title()).toBe('printed');
    expect(faults).toEqual([]);
  });

  test('the review opened from its address has no style, or loads and runs what a name says', async () => {
    const answer = await page.goto(`${hub.url}/api/weeks/${week}/review.html`);
    expect(answer?.headers()['content-security-policy']).toContain("frame-ancestors 'none'");
    const look = await page.evaluate(() => {
      const { maxWidth, backgroundColor } = getComputedStyle(document.body);
      return { maxWidth, backgroundColor, title: document.title };
    });
    expect(look.maxWidth).not.toBe('none');
    expect(look.backgroundColor).not.toBe('rgba(0, 0, 0, 0)');
    expect(look.title).not.toBe('taken');
    expect(await page.getByText(hostile.slice(0, 20)).first().isVisible()).toBe(true);
    await page.goto(`${hub.url}/#/week`);
  });

  test('a week that is none leaves an empty page', async () => {
    await page.goto(`${hub.url}/#/week/2026-W54`);
    await page.getByText('No week 2026-W54.').waitFor();
    await page.goto(`${hub.url}/#/week/..%2F..%2Froom`);
    await page.getByText('No week').waitFor();
  });

  test.each(looks)(
    'the week cannot be read or tapped: $scheme at $size.width',
    async ({ size, scheme }) => {
      await page.setViewportSize(size);
      await page.emulateMedia({ colorScheme: scheme });
      await page.goto(`${hub.url}/#/week`);
      await page.getByRole('heading', { name: 'Weeks' }).waitFor();
      await expectSound(page);
      await page.goto(`${hub.url}/#/week/${week}`);
      await page.locator('.week-section').last().waitFor();
      await expectSound(page);
    },
    60_000,
  );

  test('on paper the week is dark, or carries buttons', async () => {
    await page.setViewportSize(phone);
    await page.emulateMedia({ media: 'print', colorScheme: 'dark' });
    expect(await page.evaluate(() => getComputedStyle(document.body).backgroundColor)).toBe('rgb(255, 255, 255)');
    expect(await page.getByRole('button', { name: 'Print' }).isVisible()).toBe(false);
    expect(await page.locator('nav').isVisible()).toBe(false);
    expect(await page.locator('.week-section').first().isVisible()).toBe(true);
    await page.emulateMedia({ media: 'screen' });
  });

  test('the page to keep asks for something, runs a name, or prints dark', async () => {
    const answer = await fetch(`${hub.url}/api/weeks/${week}/review.html`);
    expect(answer.headers.get('content-type')).toBe('text/html; charset=utf-8');
    expect(answer.headers.get('content-disposition')).toBe(`inline; filename="review-${week}.html"`);
    const path = join(scratch.dir, `review-${week}.html`);
    writeFileSync(path, await answer.text());

    const context = await browser.newContext({ offline: true, viewport: phone, colorScheme: 'dark' });
    const file = await context.newPage();
    const asked: string[] = [];
    file.on('request', (request) => asked.push(request.url()));
    const complaints = listenForFaults(file);
    const address = pathToFileURL(path).href;
    await file.goto(address);
    await file.getByRole('heading', { name: 'Bands kept' }).waitFor();
    expect(asked).toEqual([address]);
    expect(complaints).toEqual([]);
    expect(await file.title()).toMatch(/^Week \d+ of/);
    expect(await file.locator('body').textContent()).toContain(hostile);
    expect(await file.locator('img, script, link, iframe').count()).toBe(0);
    expect(await file.locator('svg').count()).toBeGreaterThan(3);
    for (const { size, scheme } of looks) {
      await file.setViewportSize(size);
      await file.emulateMedia({ colorScheme: scheme });
      expect(await file.evaluate(() => document.documentElement.scrollWidth)).toBeLessThanOrEqual(size.width);
      const ground = await file.evaluate(() => getComputedStyle(document.body).backgroundColor);
      expect(ground).toBe(scheme === 'dark' ? 'rgb(18, 19, 15)' : 'rgb(239, 236, 226)');
    }
    await file.emulateMedia({ media: 'print', colorScheme: 'dark' });
    expect(await file.evaluate(() => getComputedStyle(document.body).backgroundColor)).toBe('rgb(255, 255, 255)');
    const pdf = await file.pdf({ preferCSSPageSize: true });
    // @source ISO 32000-1:2008, 7.5.2: the header of a PDF file
    expect(pdf.subarray(0, 5).toString('latin1')).toBe('%PDF-');
    await context.close();
  });
});
