/**
 * Measures the page against its aims: `npx tsx --conditions=source tests/hub/web/measure-page.mts [days] [folder]`. A store
 * with a year of six probes at one reading a minute (fewer days when a number is given), the real hub, a real browser. In
 * the folder the store is kept for the next time: filling it takes longer than all else. A busy machine measures itself: see
 * its load beside the figures.
 */
import { existsSync, mkdirSync } from 'node:fs';
import { loadavg } from 'node:os';
import { join } from 'node:path';
import type { Page } from 'playwright-core';
import type { Hub } from '#hub/room/hub.ts';
import type { Metric } from '#rules/quantity/metric.ts';
import { buildPage, openBrowser, phone } from '../../browser/page-kit.ts';
import { configOf, roomText, scratchRoom, startHubHere } from '../../servers/hub-process.ts';

const dayMs = 86_400_000;
const minutesOfDay = 1440;
const days = Number(process.argv[2] ?? 365);

type Row = { what: string; measured: number; aim: number; unit: string; isAtLeast?: true };

const probes = [
  ...[0, 1].flatMap((tank) => [
    { system: `tank${tank}`, metric: 'temperature', middle: 25.7, swing: 0.2, low: 25, high: 26.5 } as const,
    { system: `tank${tank}`, metric: 'ph', middle: 8.15, swing: 0.15, low: 7.8, high: 8.5 } as const,
    { system: `tank${tank}`, metric: 'salinity', middle: 35, swing: 0.1, low: 34, high: 36 } as const,
  ]),
];

function keepHistory(hub: Hub, endMs: number): void {
  for (let day = days; day > 0; day -= 1) {
    for (const { system, metric, middle, swing } of probes) {
      const series = { system, metric: metric as Metric, probe: `${system}-${metric}` };
      hub.store.add(
        Array.from({ length: minutesOfDay }, (_, minute) => ({
          series,
          timeMs: endMs - day * dayMs + minute * 60_000,
          // No chance: a measurement that differs each time by its own data says nothing.
          quality: {
            flag: 'pass' as const,
            value: middle + swing * Math.sin((minute / minutesOfDay) * 2 * Math.PI) + 0.01 * Math.sin(minute * 1.7),
          },
        })),
      );
    }
    hub.store.flush();
  }
}

/** The middle of some, so that a moment in which the machine did something else does not count. */
async function median(times: number, measure: () => Promise<number>): Promise<number> {
  const found: number[] = [];
  for (let time = 0; time < times; time += 1) found.push(await measure());
  return found.toSorted((a, b) => a - b)[Math.floor(times / 2)] ?? Number.NaN;
}

/** Bytes on the wire until the first view stands, as the browser counts them: compressed, with the heads. */
async function weightOf(page: Page, url: string): Promise<{ page: number; room: number }> {
  const session = await page.context().newCDPSession(page);
  await session.send('Network.enable');
  const paths = new Map<string, string>();
  let own = 0;
  let room = 0;
  session.on('Network.responseReceived', ({ requestId, response }) => paths.set(requestId, response.url));
  session.on('Network.loadingFinished', ({ requestId, encodedDataLength }) => {
    const isRoom = paths.get(requestId)?.endsWith('/api/room') === true;
    if (isRoom) room = Math.max(room, encodedDataLength);
    else own += encodedDataLength;
  });
  await page.goto(url);
  await page.locator('.rows .plot, .figures .figure-value').first().waitFor();
  await page.waitForTimeout(500);
  await session.detach();
  return { page: own, room };
}

/** A phone shows calm tanks as figures alone, without a row. In the page itself: asking from outside is as coarse as the pauses between the questions. */
const noteFirstRows = `
  new MutationObserver((_changes, observer) => {
    if (document.querySelector('.rows .plot, .figures .figure-value') === null) return;
    observer.disconnect();
    // Once the frame that holds the rows has been painted.
    requestAnimationFrame(() => requestAnimationFrame(() => { globalThis.firstRowsMs = performance.now(); }));
  }).observe(document, { childList: true, subtree: true });
`;

async function firstViewMs(page: Page, url: string): Promise<number> {
  await page.goto('about:blank');
  await page.addInitScript(noteFirstRows);
  await page.goto(url);
  for (;;) {
    // The policy of the page forbids what waiting in the page would need.
    const found: unknown = await page.evaluate('globalThis.firstRowsMs');
    if (typeof found === 'number') return found;
    await page.waitForTimeout(50);
  }
}

/** As somebody who opens the browser for it: its own start is part of what is waited for. */
async function coldViewMs(url: string): Promise<number> {
  const cold = await openBrowser();
  try {
    return await firstViewMs(await cold.newPage({ viewport: phone, colorScheme: 'dark' }), url);
  } finally {
    await cold.close();
  }
}

async function yearMs(hub: Hub): Promise<number> {
  const end = Date.now();
  const span = `from=${new Date(end - 366 * dayMs).toISOString()}&to=${new Date(end).toISOString()}`;
  const startMs = performance.now();
  const answer = await fetch(`${hub.url}/api/series/tank0/temperature?${span}&points=1600`);
  const { points } = (await answer.json()) as { points: unknown[] };
  if (points.length < Math.min(days, 365)) throw new Error(`a year of ${points.length} points is none`);
  return performance.now() - startMs;
}

/** Frames a second while a year is zoomed by the wheel, one notch a frame. */
async function framesWhileZooming(page: Page, hub: Hub): Promise<number> {
  await page.goto(`${hub.url}/#/system/tank0/temperature`);
  await page.getByRole('button', { name: 'Year', exact: true }).click();
  await page.getByText(/^Lowest [\d.]+/).waitFor();
  await page.waitForTimeout(500);
  // The compiler that runs this file names functions by a helper that a browser does not have.
  await page.evaluate('globalThis.__name ??= (named) => named');
  return page.evaluate(
    () =>
      new Promise<number>((resolve) => {
        const canvas = document.querySelector('canvas');
        const most = 90;
        let frame = 0;
        const startMs = performance.now();
        const next = (): void => {
          const deltaY = frame % 60 < 30 ? -25 : 25;
          canvas?.dispatchEvent(
            new WheelEvent('wheel', {
              deltaY,
              shiftKey: true,
              bubbles: true,
              cancelable: true,
              clientX: 150,
              clientY: 300,
            }),
          );
          frame += 1;
          if (frame === most) resolve((1000 * most) / (performance.now() - startMs));
          else requestAnimationFrame(next);
        };
        requestAnimationFrame(next);
      }),
  );
}

function print(rows: readonly Row[]): void {
  process.stdout.write(`load of the machine: ${loadavg()[0]?.toFixed(1)}\n`);
  process.stdout.write(`${'what'.padEnd(58)}${'measured'.padStart(10)}${'aim'.padStart(12)}\n`);
  for (const { what, measured, aim, unit, isAtLeast } of rows) {
    const isMet = isAtLeast === true ? measured >= aim : measured <= aim;
    const sign = isAtLeast === true ? '>=' : '<=';
    const line = `${what.padEnd(58)}${measured.toFixed(0).padStart(10)}${`${sign} ${aim}`.padStart(12)} ${unit.padEnd(8)}`;
    process.stdout.write(`${line}${isMet ? '' : '  missed'}\n`);
  }
}

const kept = process.argv[3];
const isFilled = kept !== undefined && existsSync(join(kept, 'data'));
if (kept !== undefined) mkdirSync(join(kept, 'data'), { recursive: true });
const scratch = kept === undefined ? scratchRoom() : { dir: kept, remove: () => {} };
const pageDir = join(scratch.dir, 'page');
await buildPage(pageDir);
const text = roomText(scratch.dir, {
  systems: ['tank0', 'tank1'].map((id) => ({
    ...{ id, name: `Tank ${id} (invented)`, volume_l: 400 },
    bands: Object.fromEntries(
      probes.filter(({ system }) => system === id).map(({ metric, low, high }) => [metric, { low, high }]),
    ),
  })),
  probes: probes.map(({ system, metric }) => ({
    ...{ id: `${system}-${metric}`, system, metric, mqtt: { topic: `${system}/${metric}` } },
  })),
});
let hub = await startHubHere(configOf(text), {}, pageDir);
if (!isFilled) keepHistory(hub, Date.now());
await hub.stop();
hub = await startHubHere(configOf(text), {}, pageDir);
const browser = await openBrowser();
try {
  const page = await browser.newPage({ viewport: phone, colorScheme: 'dark' });
  const firstMs = await firstViewMs(page, hub.url);
  const weighed = await browser.newContext({ viewport: phone });
  const weight = await weightOf(await weighed.newPage(), hub.url);
  await weighed.close();
  const laterMs = await median(5, async () => {
    // Closed again: pages left open go on drawing what comes, and their service workers go on filling their stores.
    const visitor = await browser.newContext({ viewport: phone });
    try {
      return await firstViewMs(await visitor.newPage(), hub.url);
    } finally {
      await visitor.close();
    }
  });
  const coldMs = await median(3, () => coldViewMs(hub.url));
  const roomMs = await median(7, async () => {
    const startMs = performance.now();
    await (await fetch(`${hub.url}/api/room`)).text();
    return performance.now() - startMs;
  });
  print([
    { what: 'first view on the wire, page without the room', measured: weight.page / 1000, aim: 120, unit: 'kB' },
    {
      what: 'first view on the wire, page and room',
      measured: (weight.page + weight.room) / 1000,
      aim: 120,
      unit: 'kB',
    },
    { what: `first view drawn, ${days} days of 6 probes, hub just started`, measured: firstMs, aim: 1000, unit: 'ms' },
    { what: 'first view drawn, the browser running', measured: laterMs, aim: 1000, unit: 'ms' },
    { what: 'first view drawn, the browser just started', measured: coldMs, aim: 1000, unit: 'ms' },
    { what: 'the room answered', measured: roomMs, aim: 100, unit: 'ms' },
    { what: `a chart of ${days} days answered`, measured: await median(7, () => yearMs(hub)), aim: 100, unit: 'ms' },
    {
      what: 'frames while zooming',
      measured: await framesWhileZooming(page, hub),
      aim: 30,
      unit: 'a second',
      isAtLeast: true,
    },
  ]);
} finally {
  await browser.close();
  await hub.stop();
  scratch.remove();
}
