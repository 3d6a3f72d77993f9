import { mkdirSync, symlinkSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, test, vi } from 'vitest';
import { isoWeekAt } from '#hub/model/calendar/iso-week.ts';
import type { Hub } from '#hub/room/hub.ts';
import { ask, problemIn } from '../hub/http/ask.ts';
import { configOf, roomText, scratchRoom, startHubHere } from '../servers/hub-process.ts';
import { patience } from '../servers/server-process.ts';

// Slow on a loaded machine, and no time is asserted.
vi.setConfig({ testTimeout: 120_000 * patience(), hookTimeout: 120_000 * patience() });

const secret = 'what only the hub may read';

describe('a path that leads out of its folder', () => {
  const scratch = scratchRoom();
  let hub: Hub;

  beforeAll(async () => {
    const page = join(scratch.dir, 'page');
    mkdirSync(page);
    mkdirSync(join(scratch.dir, 'data', 'photos'));
    writeFileSync(join(page, 'index.html'), '<title>page</title>');
    for (const place of ['secret.txt', 'data/secret.txt', 'data/secret.jpg'])
      writeFileSync(join(scratch.dir, place), secret);
    // Somebody with a shell put them there: the names that the hub gives, and one that it does not.
    symlinkSync(join(scratch.dir, 'secret.txt'), join(scratch.dir, 'data', 'photos', 'secret.jpg'));
    hub = await startHubHere(configOf(roomText(scratch.dir)), {}, page);
  });
  afterAll(async () => {
    await hub?.stop();
    scratch.remove();
  });

  const ways = [
    '../secret.txt',
    '../../secret.txt',
    '..%2fsecret.txt',
    '..%2f..%2fsecret.txt',
    '%2e%2e/secret.txt',
    '%2e%2e%2fsecret.txt',
    '%2e%2e%2f%2e%2e%2fsecret.txt',
    '..%252f..%252fsecret.txt',
    '..%5c..%5csecret.txt',
    '..\\..\\secret.txt',
    '....//....//secret.txt',
    '%c0%ae%c0%ae/secret.txt',
    'secret.txt%00.jpg',
    'p1-1.jpg%00',
    '%00',
    'secret.jpg',
    './secret.jpg',
    'p1-1.jpg/../secret.jpg',
    encodeURIComponent(join(scratch.dir, 'secret.txt')),
    join(scratch.dir, 'secret.txt'),
    `//${join(scratch.dir, 'secret.txt')}`,
    'file:///etc/passwd',
    'CON',
    '.',
    '..',
  ];

  test.each(ways)('%s opens a file', async (way) => {
    for (const start of ['/api/photos/', '/api/weeks/', '/api/weeks/2026-W47/', '/', '/assets/']) {
      const answer = await ask(hub.url, start + way);
      expect(answer.text, start).not.toContain(secret);
      expect(answer.text, start).not.toContain('root:');
      expect(answer.status, start).toBeLessThan(500);
      if (/photos|weeks/.test(start)) problemIn(answer, Math.max(400, answer.status));
    }
  });

  test.each([
    '2026-W47%0d%0aX-Evil:1',
    '2026-W47";filename="evil.exe',
    '2026-W47%22',
    '2026-W47%00',
    '9999-W99',
    '0000-W00',
    '2026-W54',
    '2026-W00',
    '-2026-W47',
  ])('a week named %s is written into a header, or into a name of a file', async (week) => {
    for (const file of ['daily.csv', 'tests-doses.csv', 'review', 'review.html']) {
      const answer = await ask(hub.url, `/api/weeks/${week}/${file}`);
      expect([week, file, answer.status]).toEqual([
        week,
        file,
        answer.status >= 400 && answer.status < 500 ? answer.status : 404,
      ]);
      expect(answer.headers['x-evil']).toBeUndefined();
      expect(answer.headers['content-disposition']).toBeUndefined();
    }
  });

  test('the name of a file that is sent holds more than letters, digits, dashes and a dot', async () => {
    const week = isoWeekAt(Date.now(), 'Europe/Lisbon');
    for (const file of ['daily.csv', 'tests-doses.csv', 'demand.csv', 'alarms.csv', 'review.html']) {
      const answer = await ask(hub.url, `/api/weeks/${week}/${file}`);
      expect(answer.status).toBe(200);
      expect(answer.headers['content-disposition']).toMatch(
        /^(attachment|inline); filename="[a-z-]+\d{4}-W\d\d\.(csv|html)"$/,
      );
      expect(answer.headers['x-content-type-options']).toBe('nosniff');
    }
  });

  test('a photo is what its sender says it is, and not what its bytes are', async () => {
    const piece = (await ask(hub.url, '/api/pieces', { body: { system: 'display', kind: 'frag' } })).json<{
      id: string;
    }>();
    const send = (raw: string, type: string) =>
      ask(hub.url, `/api/pieces/${piece.id}/photos`, { method: 'POST', raw, headers: { 'content-type': type } });
    const refused = await send('<svg onload=alert(1)>', 'image/jpeg');
    problemIn(refused, refused.status);
    expect(refused.status).toBeGreaterThanOrEqual(400);
    for (const type of [
      'image/svg+xml',
      'text/html',
      'application/octet-stream',
      'image/jpeg; name="../../x"',
      '../x',
    ]) {
      const answer = await send('<svg onload=alert(1)>', type);
      expect(answer.status, type).toBeGreaterThanOrEqual(400);
      expect(answer.status, type).toBeLessThan(500);
    }
  });
});
