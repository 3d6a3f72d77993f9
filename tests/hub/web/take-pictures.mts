// Pictures of the page for the docs, from the invented demo room: `npm run pictures`. It waits for the room's first alarm.
import { spawn } from 'node:child_process';
import { createInterface } from 'node:readline';
import { chromium } from 'playwright-core';
import { programAt } from '../../machine/parts.mjs';

const folder = 'deploy/docs/pictures';
const shots = [
  { name: 'wall-dark', width: 1920, height: 1080, colorScheme: 'dark' },
  { name: 'wall-light', width: 1920, height: 1080, colorScheme: 'light' },
  { name: 'phone-dark', width: 360, height: 740, colorScheme: 'dark' },
  { name: 'phone-light', width: 360, height: 740, colorScheme: 'light' },
] as const;
const alarmWithinMs = 240_000;

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
  const browser = await chromium.launch({
    executablePath: programAt('chromium'),
    args: ['--no-sandbox', '--disable-dev-shm-usage'],
  });
  const first = await browser.newPage();
  await first.goto(url);
  await first.waitForSelector('.alarm-high', { timeout: alarmWithinMs });
  for (const { name, width, height, colorScheme } of shots) {
    const page = await browser.newPage({ viewport: { width, height }, colorScheme });
    await page.goto(url);
    await page.waitForSelector('.row');
    await page.waitForSelector('.deed');
    await page.screenshot({ path: `${folder}/${name}.png` });
    await page.close();
    process.stdout.write(`${folder}/${name}.png\n`);
  }
  await browser.close();
} finally {
  demo.kill('SIGTERM');
}
