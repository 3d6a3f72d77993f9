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

const entriesOf = (arrival: string, event: string) =>
  readJournal(room.hub.store, { kind: 'arrival' }).filter(
    ({ body }) => body.event === event && body.arrival === arrival,
  );
const withdraw = (id: number | undefined) =>
  ask(room.hub.url, `/api/entries/${id}/withdraw`, { body: { by: 'Ines Marsh (invented)' } });
const get = async <Answer>(path: string) => (await ask(room.hub.url, path)).json<Answer>();
const deedsOf = async (arrival: string) =>
  (await get<{ deeds: unknown[] }>('/api/now')).deeds.filter((deed) => JSON.stringify(deed).includes(arrival));
type PieceOf = { id: string; events: { event: string }[] };
const piecesOf = (arrival: string) => get<PieceOf[]>(`/api/pieces?arrival=${arrival}`);

test('an arrival that is taken back from the log leaves its timer, its steps and its lines behind', async () => {
  const time = new Date(room.clock.nowMs()).toISOString();
  const pieces = [{ kind: 'Blue staghorn', count: 2, longest_cm: 4 }];
  const { id } = await post('/api/arrivals', { system: 'display', name: 'Slip', arrived: time, pieces });
  await post(`/api/arrivals/${id}/runs`, { start_timer: true });
  expect(await deedsOf(id)).not.toEqual([]);
  expect((await withdraw(entriesOf(id, 'arrived')[0]?.id)).status).toBe(201);
  expect(await deedsOf(id)).toEqual([]);
  expect(await piecesOf(id)).toEqual([]);
  problemIn(await ask(room.hub.url, `/api/arrivals/${id}`), 404);
  problemIn(await ask(room.hub.url, `/api/runs/${id}-1`), 404);
});

test('one that was expected is not expected again, or cannot come a second time', async () => {
  const expected = new Date(room.clock.nowMs() + 3_600_000).toISOString();
  const pieces = [{ kind: 'Rose tenuis', count: 1, longest_cm: 4 }];
  const { id } = await post('/api/arrivals', { system: 'display', name: 'Early', expected, pieces });
  await post(`/api/arrivals/${id}/arrived`, {});
  await post(`/api/arrivals/${id}/inspections`, { findings: 'eggs' });
  problemIn(await withdraw(entriesOf(id, 'expected')[0]?.id), 409);
  expect((await withdraw(entriesOf(id, 'arrived')[0]?.id)).status).toBe(201);
  const again = await get<ArrivalAnswer>(`/api/arrivals/${id}`);
  expect({ state: again.state, arrived: again.arrived, inspections: again.inspections }).toEqual({
    ...{ state: 'expected', arrived: null, inspections: [] },
  });
  expect(entriesOf(id, 'inspected')).toEqual([]);
  expect(await piecesOf(id)).toEqual([]);
  expect((await post(`/api/arrivals/${id}/arrived`, {})).state).toBe('arrived');
  expect(entriesOf(id, 'arrived')).toHaveLength(1);
  expect(await piecesOf(id)).toHaveLength(1);
});

test('an inspection that is taken back from the log still counts in the watch', async () => {
  await post('/api/arrivals/a1/inspections', { findings: 'flatworm' });
  const { id: arrival, inspections } = await get<ArrivalAnswer>('/api/arrivals/a1');
  expect((await withdraw(entriesOf(arrival, 'inspected').at(-1)?.id)).status).toBe(201);
  expect((await get<ArrivalAnswer>('/api/arrivals/a1')).inspections).toHaveLength(inspections.length - 1);
});

test('a dip that is taken back takes those of another arrival of the same millisecond with it', async () => {
  const time = new Date(room.clock.nowMs()).toISOString();
  const ids: string[] = [];
  for (const name of ['One', 'Other']) {
    const pieces = [{ kind: `${name} tenuis`, count: 1, longest_cm: 4 }];
    ids.push((await post('/api/arrivals', { system: 'display', name, arrived: time, pieces })).id);
  }
  for (const id of ids) {
    const run = (await post(`/api/arrivals/${id}/runs`, { start_timer: true })).id;
    await post(`/api/runs/${run}/done`, { early: true });
    await post(`/api/runs/${run}/done`, {});
    await post(`/api/runs/${run}/timer`, {});
    await post(`/api/runs/${run}/done`, { early: true });
  }
  const [one = '', other = ''] = ids;
  const dipsOf = async (id: string) =>
    (await piecesOf(id)).flatMap(({ events }) => events).filter(({ event }) => event === 'dipped').length;
  expect(await Promise.all(ids.map(dipsOf))).toEqual([1, 1]);
  const [dip] = (await get<ArrivalAnswer>(`/api/arrivals/${one}`)).dips;
  expect((await get<ArrivalAnswer>(`/api/arrivals/${other}`)).dips).toEqual([dip]);
  const piece = (await piecesOf(other))[0]?.id;
  await post(`/api/pieces/${piece}/events`, { event: 'dipped', time: dip });
  expect((await without(`/api/arrivals/${one}/dips/${dip}`)).json<ArrivalAnswer>().dips).toEqual([]);
  expect(await Promise.all(ids.map(dipsOf))).toEqual([0, 2]);
});
