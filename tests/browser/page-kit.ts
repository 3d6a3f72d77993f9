import { createHash } from 'node:crypto';
import {
  cpSync,
  existsSync,
  mkdirSync,
  mkdtempSync,
  readdirSync,
  readFileSync,
  renameSync,
  rmSync,
  statSync,
} from 'node:fs';
import { basename, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import axe, { type AxeResults } from 'axe-core';
import { type Browser, chromium, type Page } from 'playwright-core';
import { build } from 'vite';
import { expect } from 'vitest';
import { programAt } from '../machine/parts.mjs';

const repository = fileURLToPath(new URL('../..', import.meta.url));
const cache = join(repository, 'node_modules', '.cache', 'brinekeep-page');
const webSources = join(repository, 'hub', 'web');

export const phone = { width: 360, height: 740 };
export const tablet = { width: 820, height: 1180 };
export const wall = { width: 1920, height: 1080 };

const everyLook = [phone, tablet, wall].flatMap((size) =>
  (['dark', 'light'] as const).map((scheme) => ({ size, scheme })),
);

/**
 * In which size and theme each view is held against axe: both themes and all three sizes. Contrast does not hang on the size
 * nor overflow on the theme, so all six (`EVERY_LOOK=1`) tell little more.
 */
export const looks =
  process.env['EVERY_LOOK'] === undefined
    ? everyLook.filter(({ size, scheme }) => (size === tablet) === (scheme === 'light'))
    : everyLook;

/** WCAG 2.2 A and AA as far as a machine can tell, and axe's rules of good practice. */
const rulesAsked = {
  runOnly: ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa', 'best-practice'],
  // Of a rule that is kept one place is told, not each: telling takes longer than looking.
  resultTypes: ['violations'],
};

/** A name that changes with anything of which the page may be made. */
function sourcesNow(): string {
  const hash = createHash('sha256').update(readFileSync(join(repository, 'package-lock.json')));
  for (const folder of ['hub', 'rules'])
    for (const name of readdirSync(join(repository, folder), { recursive: true, encoding: 'utf8' }).toSorted()) {
      const path = join(repository, folder, name);
      if (statSync(path).isFile()) hash.update(name).update('\0').update(readFileSync(path)).update('\0');
    }
  return hash.digest('hex').slice(0, 16);
}

/** Builds the page from the sources of this moment, once for all files that ask: a stale page would prove nothing. */
export async function buildPage(outDir: string): Promise<void> {
  mkdirSync(cache, { recursive: true });
  const built = join(cache, sourcesNow());
  if (!existsSync(built)) {
    const own = mkdtempSync(join(cache, 'new-'));
    await build({
      configFile: fileURLToPath(new URL('../../hub/web/vite.config.ts', import.meta.url)),
      root: webSources,
      logLevel: 'error',
      build: { outDir: own, emptyOutDir: true },
    });
    try {
      renameSync(own, built);
    } catch {
      // Another file was quicker with the same page.
      rmSync(own, { recursive: true, force: true });
    }
  }
  cpSync(built, outDir, { recursive: true });
}

export function openBrowser(): Promise<Browser> {
  return chromium.launch({ executablePath: programAt('chromium'), args: ['--no-sandbox', '--disable-dev-shm-usage'] });
}

/** Collects what a page complains of: an exception, or a load that its security policy refused. */
export function listenForFaults(page: Page): string[] {
  const faults: string[] = [];
  page.on('pageerror', (error) => faults.push(error.message));
  page.on('console', (message) => {
    if (message.type() === 'error' && /Content Security|Uncaught/.test(message.text())) faults.push(message.text());
  });
  return faults;
}

/**
 * Keeps what is shown, whole, for somebody's eyes: `LOOK_AT=coverage/looks EVERY_LOOK=1 npx vitest run tests/hub/web` leaves
 * each view in each size and theme in that folder. What is ugly or hard to read no test tells.
 */
async function keepLook(page: Page): Promise<void> {
  const folder = process.env['LOOK_AT'];
  if (folder === undefined) return;
  const shown = await page.evaluate(() => ({
    where: location.hash,
    scheme: matchMedia('(prefers-color-scheme: light)').matches ? 'light' : 'dark',
  }));
  const file = basename(expect.getState().testPath ?? '', '.browser.test.ts');
  const name = `${file} ${shown.where}`.replace(/\W+/g, '-').slice(0, 60);
  const path = join(folder, `${name}.${page.viewportSize()?.width}.${shown.scheme}.png`);
  await page.screenshot({ path, fullPage: true });
}

/** No fault that axe knows, no target too small for a wet finger, no form crushed, nothing beyond the edge of the screen. */
export async function expectSound(page: Page, fewestTargets = 5): Promise<void> {
  await keepLook(page);
  if (!(await page.evaluate("'axe' in globalThis"))) await page.evaluate(axe.source);
  const found = (await page.evaluate(`axe.run(document, ${JSON.stringify(rulesAsked)})`)) as AxeResults;
  expect(found.passes.length).toBeGreaterThan(15);
  expect(found.violations.map(({ id, nodes }) => `${id}: ${nodes.map(({ html }) => html).join(' | ')}`)).toEqual([]);

  const targets = await page
    .locator('a, button, input, select, textarea, summary, [tabindex]:not([tabindex="-1"])')
    .evaluateAll((elements) =>
      elements
        .map((element) => {
          const box = element.getBoundingClientRect();
          return { what: element.outerHTML.slice(0, 60), width: Math.round(box.width), height: Math.round(box.height) };
        })
        // What is folded away cannot be tapped.
        .filter(({ width, height }) => width > 0 && height > 0),
    );
  expect(targets.length).toBeGreaterThanOrEqual(fewestTargets);
  expect(targets.filter(({ width, height }) => width < 44 || height < 44)).toEqual([]);
  // A form is one column; what stands in pairs does so in rows of its own. Two columns of it on a phone crush all that it asks.
  const crushed = await page
    .locator('form.asks')
    .evaluateAll((forms) =>
      forms
        .filter((form) => getComputedStyle(form).gridTemplateColumns.split(' ').length > 1)
        .map((form) => form.getAttribute('aria-label')),
    );
  expect(crushed).toEqual([]);
  const { width } = page.viewportSize() ?? phone;
  expect(await page.evaluate(() => document.documentElement.scrollWidth)).toBeLessThanOrEqual(width);
}

/** What stands beyond the right edge when a person has doubled the text (WCAG 1.4.4 asks for 200 %). */
export async function beyondAtDoubleText(page: Page): Promise<string[]> {
  await page.evaluate(() => document.documentElement.style.setProperty('font-size', '200%', 'important'));
  const { width } = page.viewportSize() ?? phone;
  const found = await page.locator('body *').evaluateAll(
    (elements, edge) =>
      elements
        // What scrolls by itself, and what only a screen reader reads, is not beyond.
        .filter((element) => element.closest('.visually-hidden, svg, canvas, pre, table, .chart-table') === null)
        .filter((element) => element.checkVisibility() && element.getBoundingClientRect().right > edge + 1)
        .map((element) => `${element.tagName} ${element.className} ${(element.textContent ?? '').slice(0, 40)}`),
    width,
  );
  await page.evaluate(() => document.documentElement.style.removeProperty('font-size'));
  return found;
}

/** What a page shows or a hub keeps soon, on a machine that does much else; each use says what. */
export function expectSoon<Shown>(ask: () => Shown | Promise<Shown>): ReturnType<typeof expect.poll<Shown>> {
  return expect.poll(ask, { timeout: 20_000 });
}

/** Presses Tab until the element with this accessible name has the focus. */
export async function tabTo(page: Page, name: string, most = 80): Promise<void> {
  for (let tabs = 0; tabs < most; tabs += 1) {
    await page.keyboard.press('Tab');
    const at = await page.evaluate(() => {
      const element = document.activeElement;
      return [element?.textContent?.trim(), element?.getAttribute('aria-label'), element?.id];
    });
    if (at.includes(name)) return;
  }
  throw new Error(`"${name}" is not reached with ${most} presses of Tab`);
}
