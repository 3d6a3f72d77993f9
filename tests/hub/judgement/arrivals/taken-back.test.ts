import { afterAll, beforeAll, expect, test, vi } from 'vitest';
import type { ArrivalAnswer } from '#hub/api/arrivals.ts';
import { readJournal } from '#hub/model/journal/journal.ts';
import { patience } from '../../../servers/server-process.ts';
import { ask, problemIn } from '../../http/ask.ts';
import { type ArrivalRoom, startArrivalRoom } from './arrival-room.ts';

// Slow on a loaded machine, and no time is asserted.
vi.setConfig({ testTimeout: 120_000 * patience(), hookTimeout: 120_000 * patience() });

const startMs = Date.parse('2026-03-02T09:00:00Z');
let room: ArrivalRoom;

const post = async (path: string, body: unknown) => {
  const answer = await ask(room.hub.url, path, { body });
  expect(answer.status, answer.text).toBeLessThan(300);
  return answer.json<ArrivalAnswer>();
};
const without = (path: string) => ask(room.hub.url, path, { method: 'DELETE' });
const inspected = () =>
  readJournal(room.hub.store, { kind: 'arrival' }).filter(({ body }) => body.event === 'inspected').length;

beforeAll(async () => {
  room = await startArrivalRoom(startMs);
  await post('/api/arrivals', { system: 'display', name: 'Frags', arrived: new Date(startMs).toISOString() });
});
afterAll(() => room?.stop());

test('a dip without a checklist that was tapped by mistake counts for ever, and sets the dates of the next', async () => {
  const [first, second] = ['2026-03-02T08:00:00.000Z', '2026-03-02T08:30:00.000Z'];
  await post('/api/arrivals/a1/dips', { time: first });
  expect((await post('/api/arrivals/a1/dips', { time: second })).dips).toEqual([first, second]);
  expect((await without(`/api/arrivals/a1/dips/${second}`)).json<ArrivalAnswer>().dips).toEqual([first]);
  await room.restart();
  expect((await ask(room.hub.url, '/api/arrivals/a1')).json<ArrivalAnswer>().dips).toEqual([first]);
  problemIn(await without(`/api/arrivals/a1/dips/${second}`), 404);
  problemIn(await without('/api/arrivals/a1/dips/yesterday'), 400);
});

test('an inspection that nobody made counts for ever, in the watch or in the journal', async () => {
  const time = '2026-03-02T08:45:00.000Z';
  await post('/api/arrivals/a1/inspections', { time, findings: 'eggs on the plug' });
  await post('/api/arrivals/a1/inspections', { time: '2026-03-02T08:50:00.000Z', findings: 'nothing found' });
  expect(inspected()).toBe(2);
  const { inspections } = (await without(`/api/arrivals/a1/inspections/${time}`)).json<ArrivalAnswer>();
  expect(inspections.map(({ findings }) => findings)).toEqual(['nothing found']);
  expect(inspected()).toBe(1);
  problemIn(await without(`/api/arrivals/a1/inspections/${time}`), 404);
});
