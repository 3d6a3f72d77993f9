import { afterAll, beforeAll, expect, test, vi } from 'vitest';
import type { ArrivalAnswer } from '#hub/api/arrivals.ts';
import { patience } from '../../../servers/server-process.ts';
import { ask, problemIn } from '../../http/ask.ts';
import { type ArrivalRoom, dayMs, startArrivalRoom } from './arrival-room.ts';

// Slow on a loaded machine, and no time is asserted.
vi.setConfig({ testTimeout: 120_000 * patience(), hookTimeout: 120_000 * patience() });

const startMs = Date.parse('2026-03-02T09:00:00Z');
type Now = { deeds: { id: string; what: string; more?: string }[] };
let room: ArrivalRoom;

const post = (path: string, body: unknown) => ask(room.hub.url, path, { body });
const deeds = async () => (await ask(room.hub.url, '/api/now')).json<Now>().deeds.map(({ id }) => id);

beforeAll(async () => {
  room = await startArrivalRoom(startMs);
  const arrived = new Date(startMs).toISOString();
  await post('/api/arrivals', { system: 'display', name: 'Frags', arrived });
  await post('/api/arrivals/a1/dips', {});
});
afterAll(() => room?.stop());

test('what was seen on day 2 is not looked at before day 7, or the look is asked for again when it was done', async () => {
  room.clock.advance(2 * dayMs);
  expect(await deeds()).not.toContain('inspection:a1');
  const seen = await room.asked<ArrivalAnswer>(
    'arrival',
    'inspected',
    'a1',
    '--findings',
    'a bite',
    '--look-again',
    '2',
  );
  expect(seen.watch?.tasks.filter(({ is_look_again }) => is_look_again)).toMatchObject([
    { kind: 'inspection', due: '2026-03-06T09:00:00.000Z', state: 'planned' },
  ]);
  room.clock.advance(2 * dayMs);
  expect(await deeds()).toContain('inspection:a1');
  await room.restart();
  expect(await deeds()).toContain('inspection:a1');
  await post('/api/arrivals/a1/inspections', { findings: 'nothing found' });
  expect(await deeds()).not.toContain('inspection:a1');
  const after = (await ask(room.hub.url, '/api/arrivals/a1')).json<ArrivalAnswer>();
  expect(after.watch?.tasks.some(({ is_look_again }) => is_look_again)).toBe(false);
  // The plan's own days stay: the first inspection beside them is the one of day 14.
  expect(after.watch?.tasks.find(({ state }) => state === 'planned')?.due.slice(0, 10)).toBe('2026-03-16');
});

test('a quarantine has no end, ends unseen, or goes on after it was ended', async () => {
  problemIn(await post('/api/arrivals/a1/quarantine', { days: 3.5 }), 400);
  const told = (await post('/api/arrivals/a1/quarantine', { days: 6 })).json<ArrivalAnswer>();
  expect(told.quarantine).toMatchObject({ days: 6, ends: '2026-03-08T09:00:00.000Z' });
  // Common practice, no published source.
  expect(told.quarantine?.practice.join(' ')).toMatch(/own tongs.*last.*None of its water/);
  expect(await deeds()).not.toContain('quarantine:a1');
  room.clock.advance(2 * dayMs);
  expect(await deeds()).toContain('quarantine:a1');
  expect((await room.verb('arrival', 'show', 'a1')).out).toContain('quarantine: 6 days, to 2026-03-08');
  await room.verb('arrival', 'quarantine', 'a1', '0');
  expect(await deeds()).not.toContain('quarantine:a1');
});
