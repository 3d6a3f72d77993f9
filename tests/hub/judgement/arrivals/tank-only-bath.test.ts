import { afterAll, beforeAll, expect, test, vi } from 'vitest';
import type { ArrivalAnswer, PreparedAnswer } from '#hub/api/arrivals.ts';
import type { RunAnswer } from '#hub/api/runs.ts';
import { patience } from '../../../servers/server-process.ts';
import { ask } from '../../http/ask.ts';
import { type ArrivalRoom, startArrivalRoom } from './arrival-room.ts';

// Slow on a loaded machine, and no time is asserted.
vi.setConfig({ testTimeout: 120_000 * patience(), hookTimeout: 120_000 * patience() });

const startMs = Date.parse('2026-03-02T09:00:00Z');
let room: ArrivalRoom;

const post = (path: string, body: unknown) => ask(room.hub.url, path, { body });
const arrival = async () => (await ask(room.hub.url, '/api/arrivals/a1')).json<ArrivalAnswer>();
const bag = (total_ammonia_mg_l_n: number) => ({
  bag: { temperature: 24, salinity: 35, ph: 7, total_ammonia_mg_l_n },
  into: { temperature: 25, salinity: 35, ph: 8.2 },
});

beforeAll(async () => {
  room = await startArrivalRoom(startMs);
  await post('/api/arrivals', { system: 'display', name: 'Frags', arrived: new Date(startMs).toISOString() });
});
afterAll(() => room?.stop());

/** What to have ready for one small piece: one bath of the least size, 2 L. */
async function prepared(): Promise<PreparedAnswer> {
  const pieces = [{ count: 1, longest_cm: 4 }];
  const wish = { system: 'display', arrival: 'a1', pieces, vessel_l: 5, salinity: 35, grams_per_litre_at_35: 38 };
  return (await post('/api/arrivals/prepare', wish)).json<PreparedAnswer>();
}

/** Litres from the tank and from the bags in the dip bath of a checklist that starts now. */
async function bathNow(): Promise<[number | undefined, number | undefined]> {
  const { id } = (await post('/api/arrivals/a1/runs', { protocol: 'repeat_dip' })).json<RunAnswer>();
  const { steps } = (await ask(room.hub.url, `/api/runs/${id}`)).json<RunAnswer>();
  for (const { step } of steps.slice(
    0,
    steps.findIndex((each) => each.step === 'dip_bath'),
  )) {
    const done = await post(`/api/runs/${id}/done`, { early: true });
    expect(done.status, step).toBe(200);
  }
  const { bath } = (await ask(room.hub.url, `/api/runs/${id}`)).json<RunAnswer>();
  await ask(room.hub.url, `/api/runs/${id}`, { method: 'DELETE' });
  return [bath?.tank_l, bath?.bag_l];
}

// Common practice, no published source: bag water with ammonia does not go into the bath.
test('bag water with ammonia goes into the dip, is had ready for it, or stays out of it for no reason that is said', async () => {
  expect((await arrival()).tank_only_because).toBeNull();
  await post('/api/arrivals/a1/shock', bag(2));
  const { tank_only_because: because } = await arrival();
  expect(because).toMatch(/ammonia/i);
  expect((await bathNow())[1]).toBe(0);
  const halves = await prepared();
  expect([halves.tank_l, halves.bag_l]).toEqual([2, 0]);
  // What the bath takes from the tank goes back into it as new water.
  expect(halves.replace_l).toBe(2);
  expect(halves.warnings[0]).toBe(`Bath from the tank alone, no bag water: ${because}`);
  expect((await arrival()).water?.tank_share).toBe(1);
  await room.restart();
  expect((await arrival()).tank_only_because).toBe(because);
  // Next to none, whatever the pH.
  await post('/api/arrivals/a1/shock', bag(0.01));
  expect((await arrival()).tank_only_because).toBeNull();
  expect(await prepared()).toMatchObject({ tank_l: 1, bag_l: 1, warnings: [] });
});
