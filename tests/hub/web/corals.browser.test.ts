import { mkdirSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import type { Browser, Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import type { ArrivalAnswer } from '#hub/api/arrivals.ts';
import type { PieceAnswer } from '#hub/api/pieces.ts';
import type { RunAnswer } from '#hub/api/runs.ts';
import type { Hub } from '#hub/room/hub.ts';
import {
  beyondAtDoubleText,
  buildPage,
  expectSoon,
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
import { configOf, getJson, postJson, roomText, scratchRoom, startHubHere } from '../../servers/hub-process.ts';

const dayMs = 86_400_000;
/** Six seconds in the bath: long enough to be seen running, short enough to be seen over. */
const shortProtocol = `
id: short_dip
name: Short dip (invented)
steps:
  - {step: dip_bath, tank_share: 0.5, reagents: []}
  - {step: soak, minutes: 0.1, most_minutes: 5}
  - {step: swirl_and_rinse_off}
  - {step: rinse_bath, minutes: 5}
  - {step: inspection}
  - {step: placement}
`;
/** The least PNG there is: one pixel. */
const photo = Buffer.from(
  'iVBORw0KGgoAAAANSUhEUgAAAAEAAAABCAYAAAAfFcSJAAAADUlEQVR42mNk+M9QDwADhgGAWjR9awAAAABJRU5ErkJggg==',
  'base64',
);

type Heard = { tones: number; shakes: number };

/** Counts what the page asks of the loudspeaker and the motor: a machine of tests has neither. */
function listen(): void {
  const heard: Heard = { tones: 0, shakes: 0 };
  Object.assign(globalThis, { heard });
  const { start } = OscillatorNode.prototype;
  OscillatorNode.prototype.start = function (...when) {
    heard.tones += 1;
    start.apply(this, when);
  };
  navigator.vibrate = () => {
    heard.shakes += 1;
    return true;
  };
}

describe.skipIf(isMissing('chromium'))('new corals on the page', () => {
  const scratch = scratchRoom();
  let port = 0;
  let hub: Hub;
  let browser: Browser;
  let page: Page;
  let faults: string[] = [];

  const start = async () => {
    const text = roomText(scratch.dir, { http: { port }, protocols_dir: join(scratch.dir, 'protocols') });
    hub = await startHubHere(configOf(text), {}, join(scratch.dir, 'page'));
  };
  const heard = () => page.evaluate(() => (globalThis as unknown as { heard: Heard }).heard);
  const arrival = (id = 'a1') => getJson<ArrivalAnswer>(`${hub.url}/api/arrivals/${id}`);
  const run = () => getJson<RunAnswer>(`${hub.url}/api/runs/a1-2`);
  const button = (name: string) => page.getByRole('button', { name, exact: true });
  const part = (name: string) => page.getByRole('region', { name });
  const open = async (address: string) => {
    await page.goto(`${hub.url}/#/corals${address}`);
    await page.locator('[data-view-title]').waitFor();
  };

  beforeAll(async () => {
    mkdirSync(join(scratch.dir, 'protocols'));
    writeFileSync(join(scratch.dir, 'protocols', 'short.yaml'), shortProtocol);
    port = await freePort();
    await buildPage(join(scratch.dir, 'page'));
    await start();
    const keep = (metric: 'temperature' | 'salinity', value: number) =>
      hub.store.add([
        {
          series: { system: 'display', metric, probe: metric },
          timeMs: Date.now(),
          quality: { flag: 'pass', value },
        },
      ]);
    keep('temperature', 25.6);
    keep('salinity', 35);
    hub.store.flush();
    browser = await openBrowser();
    page = await browser.newPage({ viewport: phone, colorScheme: 'dark' });
    await page.addInitScript(listen);
    page.setDefaultTimeout(15_000);
    faults = listenForFaults(page);
  }, 120_000);

  afterAll(async () => {
    await browser?.close();
    await hub?.stop();
    scratch.remove();
  });

  test('with the keyboard alone no corals can be taken in', async () => {
    await open('');
    await page.getByText('No corals are on their way in.').waitFor();
    await tabTo(page, 'New arrival');
    await page.keyboard.press('Enter');
    await page.getByLabel('Name').waitFor();
    await tabTo(page, 'arrival-name');
    await page.keyboard.type('Tuesday (invented)');
    await tabTo(page, 'arrival-pieces-0-kind');
    await page.keyboard.type('Acropora');
    await page.keyboard.press('Tab');
    await page.keyboard.type('2,5');
    await page.keyboard.press('Enter');
    // The hub's words stand beside the field that they are about, and the cursor stands in it.
    const count = page.locator('#arrival-pieces-0-count');
    await page.locator('#arrival-pieces-0-count:focus[aria-invalid="true"]').waitFor();
    expect(await count.getAttribute('aria-describedby')).toBe('arrival-pieces-0-count-error');
    expect(await page.locator('#arrival-pieces-0-count-error').textContent()).toMatch(/int/i);
    await count.selectText();
    await page.keyboard.type('2');
    await page.keyboard.press('Enter');
    await page.getByRole('heading', { name: 'Tuesday (invented)' }).waitFor();
    expect(await arrival()).toMatchObject({
      ...{ state: 'arrived', name: 'Tuesday (invented)' },
      pieces: [{ kind: 'Acropora', count: 2 }],
    });
  });

  test('pieces do not come into the register, or come twice', async () => {
    // Typed once with the arrival; nobody types or presses anything again.
    await page.locator('.piece-items a').nth(1).waitFor();
    const pieces = await getJson<PieceAnswer[]>(`${hub.url}/api/pieces`);
    expect(pieces.map(({ kind, arrival: id }) => [kind, id])).toEqual([
      ['Acropora', 'a1'],
      ['Acropora', 'a1'],
    ]);
  });

  test('what was worked out for an arrival is typed again for the batch and the bath', async () => {
    // Two pieces of 5 cm and one of 8: 2 × 7³ + 10³ = 1686 cm³, less than the smallest bath of 2 L. 1 L from the tank, 2 L to
    // rinse, a tenth spare: 3.3 L, at 38 g/L for 35: 125 g.
    const pasted = ['Rosa tenuis, 5', 'Blue staghorn;5 cm', 'Table\t8'].join('\n');
    await open('/new');
    await page.getByLabel('Name', { exact: true }).fill('Pasted box (invented)');
    await page.getByLabel('They are').selectOption('expected');
    await page.getByText('Paste a list of names').click();
    await page.getByLabel('One piece per line').fill(pasted);
    await button('Expect them').click();
    await page.getByRole('link', { name: 'Water to have ready' }).click();
    await page.getByLabel('Salt, name').fill('reef salt');
    expect(await page.getByLabel('Pieces', { exact: true }).count()).toBe(0);
    await page.locator('[id$="grams_per_litre_at_35"]').fill('38');
    await button('How much water').click();
    await page.getByText('3.3 L').waitFor();
    await page.getByRole('link', { name: 'Make the batch' }).click();
    for (const [field, value] of [
      ['litres', '3.3'],
      ['salinity', '35.0'],
      ['salt', 'reef salt'],
      ['grams_per_litre_at_35', '38'],
    ])
      expect(await page.locator(`[id^="batch-"][id$="-${field}"]`).inputValue()).toBe(value);
    await button('How much salt').click();
    await button('Save batch').click();
    await page.getByRole('heading', { name: /Batch b1/ }).waitFor();
    await open('/arrival/a2');
    await button('They are here').click();
    await page.getByText('Rosa tenuis').first().waitFor();
    const names = (await getJson<PieceAnswer[]>(`${hub.url}/api/pieces?arrival=a2`)).map(({ kind }) => kind);
    expect(names).toEqual(['Rosa tenuis', 'Blue staghorn', 'Table']);
    expect(await page.getByLabel('Bath, L', { exact: true }).inputValue()).toBe('2');
    expect(await page.getByLabel('Share of tank water').inputValue()).toBe('0.5');
    expect(await page.getByLabel('Rinse water from batch').inputValue()).toBe('b1');
    // One tap: the checklist knows its volumes, its batch and its pieces.
    await page.locator('.deed', { hasText: 'Float the closed bags' }).getByRole('button').click();
    await page.locator('.big-timer-runs').waitFor();
    await fetch(`${hub.url}/api/arrivals/a2`, { method: 'DELETE' });
    await open('/arrival/a1');
  });

  test('a bag that would be a shock is waved through', async () => {
    await page.getByLabel('Bag temperature, °C').fill('21');
    await page.getByLabel('Bag salinity').fill('32');
    await button('Compare with the tank').click();
    await page.getByText('Moving them straight over would be a shock.').waitFor();
    // Said by the comparison and by the plan it is read as two things.
    expect(await part('Bag against tank').getByText('Temperature would rise').count()).toBe(1);
    expect(await part('Bag against tank').textContent()).toMatch(/21\.0 to tank 25\.6.*a shock/);
  });

  test('a checklist starts without its bath, its doses or its cautions', async () => {
    // What would be started is named before anybody has chosen.
    expect(await page.getByLabel('Protocol').inputValue()).not.toBe('');
    await page.getByLabel('Protocol').selectOption('short_dip');
    await page.getByLabel('Bath, L', { exact: true }).fill('4');
    await page.getByLabel('Dip 1, name').fill('iodine (invented)');
    await page.getByLabel('Dose, mL per L').fill('9');
    await page.getByLabel('Label from').fill('1');
    await page.getByLabel('Label to').fill('4');
    await page.getByLabel('Share of tank water').fill('0.3');
    await button('Start the checklist').click();
    // Less than half from the tank is refused, beside its field.
    await page.locator('#run-a1-tank_share[aria-invalid="true"]').waitFor();
    await page.getByLabel('Share of tank water').fill('0,5');
    await button('Start the checklist').click();
    await page.getByText('Make the dip bath', { exact: true }).waitFor();
    // 4 L, half of it from the tank, 9 mL in each litre; the label says up to 4.
    const amounts = await page.locator('.amounts').textContent();
    expect(amounts).toContain('from the tank2.00 L');
    expect(amounts).toContain('iodine (invented)36.0 mL');
    await page.locator('.warned', { hasText: "above the label's 1 to 4 mL/L" }).waitFor();
    const cautions = await part('Cautions').textContent();
    for (const words of ["maker's label", 'gloves', 'palytoxin', 'Discard dip water', 'Never mix'])
      expect(cautions).toContain(words);
  });

  test('a cold bath does not warn before the pieces go in', async () => {
    await page.getByLabel('Bath, °C').fill('20');
    await page.getByLabel('Bath salinity').fill('35');
    await button('Measured').click();
    await page.locator('.warned', { hasText: 'Temperature would rise from 20.00 °C to 25.6' }).waitFor();
    await button('Done').click();
    await page.getByText('Soak in the dip bath', { exact: true }).waitFor();
    await page.locator('.warned', { hasText: 'Bath to tank' }).waitFor();
    // A soak without a clock cannot be ended.
    expect(await button('They are out: done').count()).toBe(0);
  });

  test('a soak ends, and nobody hears, feels or sees it', async () => {
    await button('The pieces are in: start 0.1 minutes').click();
    await page.locator('.big-timer-runs').waitFor();
    await page.getByText('This device sounds and vibrates').waitFor();
    const before = await heard();
    await page.locator('.big-timer-over', { hasText: 'overdue' }).waitFor();
    expect((await run()).timer?.left_seconds).toBeLessThanOrEqual(0);
    await expectSoon(async () => (await heard()).tones).toBeGreaterThan(before.tones);
    expect((await heard()).shakes).toBeGreaterThan(0);
    expect(await page.locator('.big-timer [role="alert"]').textContent()).toContain('Time is up');
    await button('Quiet').click();
    await button('Quiet').waitFor({ state: 'detached' });
  });

  test('a step that was marked done by a slip cannot be taken back', async () => {
    const { timer } = await run();
    await button('They are out: done').click();
    await page.getByText('Swirl and rinse off', { exact: true }).waitFor();
    expect((await arrival()).dips).toHaveLength(1);
    await button('Undo: soak in the dip bath').click();
    // Not anew from its beginning, also after a reload.
    await page.reload();
    await page.locator('.big-timer-over').waitFor();
    expect((await run()).timer).toMatchObject({ started: timer?.started, ends: timer?.ends });
    expect((await arrival()).dips).toHaveLength(0);
    await button('They are out: done').click();
    await page.getByText('Swirl and rinse off', { exact: true }).waitFor();
    await button('Done').click();
    await page.getByText('Rinse bath in new salt water', { exact: true }).waitFor();
  });

  test('a step with minutes is done within seconds, and the record says that it took them all', async () => {
    expect(await button('Done').count()).toBe(0);
    await page.getByText('Next: inspect and write down what you see').waitFor();
    await button('Done without the timer').click();
    await button('No').click();
    const sent = await fetch(`${hub.url}/api/runs/a1-2/done`, {
      method: 'POST',
      headers: { 'content-type': 'application/json' },
      body: '{}',
    });
    expect(sent.status).toBe(409);
  });

  test('a timer begins anew on a reload or differs on another device', async () => {
    await button('Start 5 minutes').click();
    await page.locator('.big-timer-runs').waitFor();
    const ends = (await run()).timer?.ends;
    await page.reload();
    const other = await browser.newPage({ viewport: tablet });
    await other.goto(page.url());
    for (const device of [page, other]) {
      const most = (await run()).timer?.left_seconds ?? 0;
      const shown = await device.locator('.big-timer-time').textContent();
      const least = (await run()).timer?.left_seconds ?? 0;
      const [minutes, seconds] = (shown ?? '').split(':').map(Number);
      const left = 60 * (minutes ?? Number.NaN) + (seconds ?? Number.NaN);
      // The page knows the hub's clock to within the time of an answer, which a busy machine makes long.
      expect(left).toBeLessThanOrEqual(most + 10);
      expect(left).toBeGreaterThanOrEqual(least - 10);
    }
    expect((await run()).timer?.ends).toBe(ends);
    // A browser gives no sound after a load until it is touched: the page says so.
    await page.getByText('Sound is off until you turn it on').waitFor();
    await button('Turn sound on').click();
    await page.getByText('This device sounds and vibrates').waitFor();
    expect((await heard()).tones).toBeGreaterThan(0);
    // What is done here shows there; before its time only after a question, and the record has the true minutes.
    expect(await button('Done').count()).toBe(0);
    await button('End it early').click();
    await page.getByRole('button', { name: /left: end it now/ }).click();
    await other.getByText('Inspect and write down what you see', { exact: true }).waitFor();
    expect((await run()).done.at(-1)?.took_minutes).toBeLessThan(5);
    await page
      .getByText(/took [\d.]+\smin/)
      .last()
      .waitFor();
    await other.close();
  }, 90_000);

  test.each(looks)(
    'somebody cannot read or touch a checklist: $scheme $size.width',
    async ({ size, scheme }) => {
      await page.setViewportSize(size);
      await page.emulateMedia({ colorScheme: scheme });
      await expectSound(page);
    },
    60_000,
  );

  test('findings are lost while the hub is away', async () => {
    await page.setViewportSize(phone);
    await button('Done').click();
    await page.getByText('Enter what you saw, even if it was nothing.').waitFor();
    await page.getByLabel('What you see').fill('two bite marks, no eggs');
    await hub.stop();
    await button('Done').click();
    await page.getByRole('alert').filter({ hasText: 'The hub does not answer. What you typed stays' }).waitFor();
    await start();
    await page.reload();
    await expectSoon(() => page.getByLabel('What you see').inputValue()).toBe('two bite marks, no eggs');
    await button('Done').click();
    await page.getByText('Place in the tank', { exact: true }).waitFor();
    expect((await arrival()).inspections).toMatchObject([{ findings: 'two bite marks, no eggs' }]);
    await button('Done').click();
    await page.getByText('All steps are done.').waitFor();
  });

  test('the rack is not asked for, or cannot be said to be set', async () => {
    await page.getByRole('link', { name: 'Back to the arrival' }).click();
    await page.getByText('Make a plan', { exact: true }).click();
    for (const [row, height, par] of [
      [1, '8', '70'],
      [2, '20', '140'],
      [3, '40', '320'],
    ] as const) {
      await page.getByLabel(`Height ${row} above the sand, cm`).fill(height);
      await page.getByLabel(`PAR ${row}, µmol/m²/s`).fill(par);
    }
    await page.getByLabel('Last PAR').fill('900');
    await button('Make the plan').click();
    // No height has so much light.
    await page.locator('#light-a1-target[aria-invalid="true"]').waitFor();
    await page.getByLabel('Last PAR').fill('260');
    await button('Make the plan').click();
    await button('Moved it to 8 cm').click();
    await page.getByText('Set today').waitFor();
    expect((await arrival()).light?.is_moved_today).toBe(true);
    await button('Hold').click();
    await expectSoon(async () => (await arrival()).light?.days.length).toBe(24);
  });

  test('a new lamp leaves the rack where the old one had it, or a lamp too bright for that is kept quiet', async () => {
    const hours = { full_hours: 8, ramp_up_hours: 1, ramp_down_hours: 1 };
    await postJson(`${hub.url}/api/light/display/lamp`, { name: 'Bright lamp', on_at: '10:00', ...hours });
    const measured = (places: [number, number][]) =>
      postJson(`${hub.url}/api/light/display/par`, {
        places: places.map(([height_cm, par]) => ({ height_cm, par })),
      });
    await measured([
      [20, 280],
      [40, 640],
    ]);
    await page.reload();
    await page.getByText('Lamp: Bright lamp.').waitFor();
    await button('Redo for this lamp').click();
    await part('Light').getByRole('alert').waitFor();
    expect((await arrival()).light?.days[0]?.height_cm).toBe(8);
    await measured([[5, 60]]);
    await button('Redo for this lamp').click();
    // 70 µmol/m²/s, the PAR of the first day, are now at 5 + 15 × ln(70/60) / ln(280/60) = 6.5 cm.
    await part('Light')
      .getByText(/^[67] cm$/)
      .first()
      .waitFor();
    expect((await arrival()).light?.days[0]?.par).toBeGreaterThan(60);
    expect((await arrival()).light?.days[0]?.par).toBeLessThan(80);
  });

  test('an inspection that is due is not shown, or cannot be written down', async () => {
    const arrived = new Date(Date.now() - 9 * dayMs).toISOString();
    await fetch(`${hub.url}/api/arrivals`, {
      method: 'POST',
      headers: { 'content-type': 'application/json' },
      body: JSON.stringify({ system: 'display', name: 'Last week (invented)', arrived }),
    });
    await open('');
    await page.getByRole('link', { name: /Last week.*Inspect Last week/ }).click();
    await part('Watch for pests').getByText('due', { exact: true }).waitFor();
    await button('Nothing found').click();
    await button('Save inspection').click();
    await part('Watch for pests').getByText('done', { exact: true }).waitFor();
    expect((await arrival('a3')).inspections).toMatchObject([{ findings: 'nothing found' }]);
    await page.getByLabel('Pest', { exact: true }).selectOption('acropora_flatworm');
    await button('Save pest').click();
    await part('Watch for pests').getByText('bite marks, amber egg clusters').waitFor();
  });

  test('a piece keeps no history, no photo, or its loss is not counted', async () => {
    await open('/pieces');
    await page.getByRole('link', { name: /p1 ?Acropora/ }).click();
    await page.getByLabel('New place').fill('reef, left');
    await button('Save event').click();
    await page.locator('.history', { hasText: 'moved to reef, left' }).waitFor();
    await page.getByLabel('Add a photo').setInputFiles({ name: 'p.png', mimeType: 'image/png', buffer: photo });
    const image = page.locator('.photos img');
    await image.waitFor();
    await expectSoon(() => image.evaluate((each) => (each as HTMLImageElement).naturalWidth)).toBe(1);
    await button('Delete photo 1').click();
    await button('Keep').click();
    await button('Delete photo 1').click();
    await button('Delete for good').click();
    await image.waitFor({ state: 'detached' });
    await page.locator('.history', { hasText: 'photo deleted' }).waitFor();
    await page.getByLabel('Event', { exact: true }).selectOption('lost');
    await page.getByLabel('Cause').selectOption('broken');
    await button('Save event').click();
    await page.locator('.sentence', { hasText: 'Lost on' }).waitFor();
    await page.getByRole('button', { name: 'Take back lost: broken' }).click();
    await page.locator('.sentence', { hasText: 'On reef, left' }).waitFor();
    await page.getByLabel('Event', { exact: true }).selectOption('lost');
    await page.getByLabel('Cause').selectOption('broken');
    await button('Save event').click();
    await page.locator('.sentence', { hasText: 'Lost on' }).waitFor();
    await open('');
    await page.locator('.losses', { hasText: 'broken' }).waitFor();
  });

  test('the water to have ready is not told', async () => {
    await open('/prepare');
    await page.getByLabel('Pieces', { exact: true }).fill('6');
    await page.getByLabel('Longest side').fill('5');
    await button('How much water').click();
    // Nothing says how strong the salt is.
    await page.locator('#prepare-grams_per_litre_at_35[aria-invalid="true"]').waitFor();
    await page.getByLabel('Grams per litre for 35').fill('38');
    await button('How much water').click();
    // 6 × 7³ cm³ of bath, half of it to replace, as much to rinse, a tenth spare: 3.40 L at 38 g/L.
    await page.getByText('3.4 L').waitFor();
    await page.getByText('129 g').waitFor();
  });

  test.each(looks)(
    'somebody cannot read or touch a view of corals: $scheme $size.width',
    async ({ size, scheme }) => {
      await page.setViewportSize(size);
      await page.emulateMedia({ colorScheme: scheme });
      for (const address of ['', '/new', '/arrival/a1', '/pieces', '/piece/p1', '/prepare']) {
        await open(address);
        await page.getByText(/Opening|Reading …/).waitFor({ state: 'detached' });
        await expectSound(page);
        if (size === phone) expect(await beyondAtDoubleText(page)).toEqual([]);
      }
    },
    120_000,
  );

  test('an arrival cannot be ended, or is removed by one slip', async () => {
    await page.setViewportSize(phone);
    await open('/arrival/a3');
    await button('Entered by mistake').click();
    await button('No').click();
    await button('Close this arrival').click();
    await button('Yes, close it').click();
    await page.getByText('This arrival is closed.').waitFor();
    await button('Entered by mistake').click();
    await button('Yes, remove it').click();
    await page.getByRole('heading', { name: 'Corals' }).waitFor();
    expect((await getJson<ArrivalAnswer[]>(`${hub.url}/api/arrivals`)).map(({ id }) => id)).toEqual(['a1']);
    expect(faults).toEqual([]);
  });
});
