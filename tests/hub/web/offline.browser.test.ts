import { join } from 'node:path';
import mqtt from 'mqtt';
import type { Browser, Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import type { Hub } from '#hub/room/hub.ts';
import { buildPage, expectSound, listenForFaults, looks, openBrowser, phone } from '../../browser/page-kit.ts';
import { isMissing } from '../../machine/parts.mjs';
import { freePort } from '../../servers/free-port.ts';
import { configOf, roomText, scratchRoom, startHubHere } from '../../servers/hub-process.ts';

type Manifest = { name: string; icons: { src: string; sizes: string; purpose?: string }[] };

describe.skipIf(isMissing('chromium'))('the page without its hub', { timeout: 90_000 }, () => {
  const scratch = scratchRoom();
  let faults: string[] = [];
  let hub: Hub;
  let text = '';
  let browser: Browser;
  let page: Page;
  const start = () => startHubHere(configOf(text), {}, join(scratch.dir, 'page'));
  const cached = () =>
    page.evaluate(async () => {
      const names = await caches.keys();
      const lists = await Promise.all(names.map(async (name) => (await caches.open(name)).keys()));
      return lists.flat().map(({ url }) => new URL(url).pathname);
    });

  beforeAll(async () => {
    await buildPage(join(scratch.dir, 'page'));
    const broker = await freePort();
    text = roomText(scratch.dir, {
      http: { port: await freePort() },
      broker: { port: broker },
      probes: [{ id: 't', system: 'display', metric: 'temperature', mqtt: { topic: 'tank/t' } }],
    });
    hub = await start();
    const probe = await mqtt.connectAsync(`mqtt://127.0.0.1:${broker}`);
    await probe.publishAsync('tank/t', '25.61', { qos: 1 });
    await probe.endAsync();
    browser = await openBrowser();
    page = await browser.newPage({ viewport: phone, colorScheme: 'dark' });
    page.setDefaultTimeout(20_000);
    faults = listenForFaults(page);
    await page.goto(hub.url);
    await page.locator('[data-metric="temperature"] .row-value', { hasText: '25.61' }).waitFor();
    await page.evaluate(() => navigator.serviceWorker.ready);
    // Under the worker from its first request on, as on any later day.
    await page.reload();
    await page.locator('[data-metric="temperature"] .row-value', { hasText: '25.61' }).waitFor();
  });

  afterAll(async () => {
    await browser?.close();
    await hub?.stop();
    scratch.remove();
  });

  test('the page cannot be installed: its manifest or an icon is missing', async () => {
    const address = await page.locator('link[rel="manifest"]').getAttribute('href');
    const response = await fetch(new URL(address ?? '', hub.url));
    expect(response.headers.get('content-type')).toContain('application/manifest+json');
    const manifest = (await response.json()) as Manifest;
    expect(manifest.name).toBe('Brinekeep');
    for (const sizes of ['192x192', '512x512']) {
      const icons = manifest.icons.filter((icon) => icon.sizes === sizes);
      expect(icons.some(({ purpose }) => purpose === 'maskable')).toBe(true);
      for (const { src } of icons) {
        const bytes = new DataView(await (await fetch(new URL(src, hub.url))).arrayBuffer());
        // Width and height of a PNG stand in its header. @source ISO/IEC 15948, 11.2.2
        expect([bytes.getUint32(16), bytes.getUint32(20)].map((side) => `${side}x${side}`)).toEqual([sizes, sizes]);
      }
    }
  });

  test('an answer of the API other than the room lies about in the cache of a phone', async () => {
    await page.goto(`${hub.url}/#/probes`);
    await page.locator('[data-probe="t"]').waitFor();
    await page.goto(`${hub.url}/#/`);
    const paths = await cached();
    expect(paths.filter((path) => path.startsWith('/api/'))).toEqual(['/api/room']);
    expect(paths).toContain('/');
    expect(paths.some((path) => path.endsWith('.css'))).toBe(true);
  });

  test('a phone that is opened while the hub is down shows nothing, or passes old values off as new', async () => {
    await hub.stop();
    await page.reload();
    await page.locator('[data-metric="temperature"] .row-value', { hasText: '25.61' }).waitFor();
    const banner = page.locator('.offline', { hasText: 'The hub does not answer. What you see is from' });
    await banner.waitFor();
    expect(await banner.textContent()).toMatch(/from \d+ \w+, \d\d:\d\d, \d+ \w+ ago/);
    for (const { size, scheme } of looks) {
      await page.setViewportSize(size);
      await page.emulateMedia({ colorScheme: scheme });
      await expectSound(page);
    }
    // A view that was never opened is there as well.
    await page.goto(`${hub.url}/#/settings`);
    await page.getByRole('button', { name: 'Same as device' }).waitFor();
    await page.goto(`${hub.url}/#/`);
  });

  test('the banner stays when the hub is back', async () => {
    hub = await start();
    await page.locator('.offline').waitFor({ state: 'detached', timeout: 20_000 });
    await page.locator('[data-metric="temperature"] .row-value', { hasText: '25.61' }).waitFor();
    expect(faults).toEqual([]);
  });
});
