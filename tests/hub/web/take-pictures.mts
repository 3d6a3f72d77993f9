// Pictures of the page for the docs, from the invented demo room: `npm run pictures`, or some by name: `npm run pictures -- advice week`.
// The demo's wait for the room's first alarm; those of adding a phone do not.
import { spawn } from 'node:child_process';
import { createInterface } from 'node:readline';
import { setTimeout as pause } from 'node:timers/promises';
import { DateTime } from 'luxon';
import { type Browser, chromium } from 'playwright-core';
import { demoTimezone } from '#hub/demo/demo-config.ts';
import { programAt } from '../../machine/parts.mjs';
import { phoneShots, takePhonePictures } from './picture-phones.mts';

const folder = 'deploy/docs/pictures';
type Shot = {
  name: string;
  width: number;
  height: number;
  colorScheme: 'dark' | 'light';
  /** The view, the room itself when left out. */
  at?: string;
  /** Something that is there when the view is; folded parts that are to be open. */
  shows: string[];
  opens?: string;
};

const lastWeek = DateTime.now().setZone(demoTimezone).minus({ weeks: 1 }).toFormat("kkkk-'W'WW");
const phone = { width: 360, height: 740, colorScheme: 'dark' } as const;
const shots: Shot[] = [
  { name: 'wall-dark', width: 1920, height: 1080, colorScheme: 'dark', shows: ['.row', '.deed'] },
  { name: 'wall-light', width: 1920, height: 1080, colorScheme: 'light', shows: ['.row', '.deed'] },
  { name: 'phone-dark', ...phone, shows: ['.row', '.deed'] },
  { name: 'phone-light', ...phone, colorScheme: 'light', shows: ['.row', '.deed'] },
  { name: 'advice', ...phone, shows: ['.advice-item'], opens: '.advice-item:not(.advice-calm)' },
  { name: 'chart', ...phone, at: '#/system/display/alkalinity', shows: ['.chart canvas'] },
  { name: 'corals', ...phone, at: '#/corals/arrival/a2', shows: ['text=Frag swap'] },
  {
    name: 'week',
    width: 820,
    height: 1180,
    colorScheme: 'light',
    at: `api/weeks/${lastWeek}/review.html`,
    shows: ['h2'],
  },
];
const asked = process.argv.slice(2);
const isAsked = (name: string) => asked.length === 0 || asked.includes(name);
const alarmWithinMs = 240_000;

function fileOf(name: string): string {
  const file = `${folder}/${name}.png`;
  process.stdout.write(`${file}\n`);
  return file;
}

async function takeDemo(browser: Browser, wanted: readonly Shot[]): Promise<void> {
  const demo = spawn(process.execPath, ['dist/hub/main.js', 'demo', '--port', '0', '--mqtt-port', '0'], {
    stdio: ['ignore', 'pipe', 'inherit'],
  });
  try {
    const url = await new Promise<string>((resolve, reject) => {
      createInterface({ input: demo.stdout }).on('line', (line) => {
        const found = /^Page:\s+(\S+)/.exec(line)?.[1];
        if (found !== undefined) resolve(found);
      });
      demo.once('exit', () => reject(new Error('the demo ended before it told its page')));
    });
    const first = await browser.newPage();
    await first.goto(url);
    await first.waitForSelector('.alarm-high', { timeout: alarmWithinMs });
    for (const { name, width, height, colorScheme, at = '', shows, opens } of wanted) {
      const page = await browser.newPage({ viewport: { width, height }, colorScheme });
      await page.goto(`${url}/${at}`);
      for (const each of shows) await page.locator(each).first().waitFor();
      // What a view asks for after it is there: a curve, a list. On a busy machine that takes long.
      await pause(15_000);
      if (opens !== undefined) {
        const folded = page.locator(opens).first();
        await folded.locator('summary').click();
        await folded.evaluate((element) => element.scrollIntoView({ block: 'start' }));
        await page.mouse.wheel(0, -70);
        await pause(1_000);
      }
      await page.screenshot({ path: fileOf(name) });
      await page.close();
    }
  } finally {
    demo.kill('SIGTERM');
  }
}

const browser = await chromium.launch({
  executablePath: programAt('chromium'),
  args: ['--no-sandbox', '--disable-dev-shm-usage'],
});
try {
  const ofDemo = shots.filter(({ name }) => isAsked(name));
  if (ofDemo.length > 0) await takeDemo(browser, ofDemo);
  if (phoneShots.some(isAsked)) await takePhonePictures(browser, fileOf);
} finally {
  await browser.close();
}
