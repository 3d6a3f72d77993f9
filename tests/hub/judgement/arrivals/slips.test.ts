import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { type Answer, ask, problemIn } from '../../http/ask.ts';
import { type ArrivalRoom, dayMs, minuteMs, startArrivalRoom } from './arrival-room.ts';

const startMs = Date.parse('2026-03-02T09:00:00Z');

type Arrival = { dips: string[]; inspections: unknown[]; light: { is_moved_today: boolean; moved: string } | null };
type Batch = { id: string; litres: number; salt_g: number; water: Record<string, number> };

describe('slips, and what is done about them', () => {
  let room: ArrivalRoom;
  const post = (path: string, body: unknown = {}): Promise<Answer> => ask(room.hub.url, path, { body });
  const arrival = async () => (await ask(room.hub.url, '/api/arrivals/a1')).json<Arrival>();

  beforeAll(async () => {
    room = await startArrivalRoom(startMs);
    await post('/api/arrivals', { system: 'display', name: 'Tuesday', arrived: new Date(startMs).toISOString() });
    await post('/api/pieces', { system: 'display', kind: 'acropora', arrival: 'a1' });
  });
  afterAll(() => room?.stop());

  test('a soak that was marked done by a slip still counts as a dip', async () => {
    await post('/api/arrivals/a1/runs', { protocol: 'repeat_dip', pieces: ['p1'], baths: [{ bath_l: 3 }] });
    for (const step of ['done', 'done', 'timer']) await post(`/api/runs/a1-1/${step}`);
    room.clock.advance(2 * minuteMs);
    const early = problemIn(await post('/api/runs/a1-1/done'), 409);
    expect(early).toMatchObject({ type: 'urn:brinekeep:problem:too_early', detail: '5 min of this step are left.' });
    const after = await post('/api/runs/a1-1/done', { early: true });
    expect(after.json<{ done: object[] }>().done.at(-1)).toMatchObject({ took_minutes: 2, early_minutes: 5 });
    expect(await arrival()).toMatchObject({ dips: [new Date(startMs).toISOString()] });
    const events = async () =>
      (await ask(room.hub.url, '/api/pieces/p1')).json<{ events: { event: string }[] }>().events.map((e) => e.event);
    expect(await events()).toEqual(['added', 'dipped']);

    const undone = (await post('/api/runs/a1-1/undo')).json<{ words: string; timer: { started: string } }>();
    expect(undone.timer.started).toBe(new Date(startMs).toISOString());
    expect((await arrival()).dips).toEqual([]);
    expect(await events()).toEqual(['added']);
    expect(problemIn(await post('/api/runs/a1-1/undo'), 409).detail).toContain('timer of this step is running');
  });

  test('a rack that was set is asked for again the same day, or not on the next', async () => {
    const pairs = [
      { height_cm: 10, par: 80 },
      { height_cm: 40, par: 300 },
    ];
    expect((await post('/api/arrivals/a1/light/moved')).status).toBe(409);
    await post('/api/arrivals/a1/light', { profile: { pairs }, day: { full_hours: 8 }, target: { par: 250 } });
    await post('/api/arrivals/a1/light/moved');
    expect((await arrival()).light?.is_moved_today).toBe(true);
    room.clock.advance(dayMs);
    expect((await arrival()).light?.is_moved_today).toBe(false);
  });

  test('salt that went in later is forgotten, or a salinity from before is taken for true', async () => {
    const asked = { litres: 40, salinity: 35, grams_per_litre_at_35: 38 };
    const plan = (await post('/api/batches/plan', asked)).json<{ salt_g: number }>();
    // 40 L × 38 g/L.
    expect(plan.salt_g).toBeCloseTo(1520, 9);
    const made = { system: 'display', litres: 40, salt: 'invented salt', salt_g: 1440 };
    const { id } = (await post('/api/batches', made)).json<Batch>();
    await post(`/api/batches/${id}/water`, { salinity: 33, temperature: 25 });
    const more = (await post(`/api/batches/${id}/more`, { salt_g: 80 })).json<Batch>();
    expect(more).toMatchObject({ salt_g: 1520, litres: 40, water: { temperature: 25 } });
    expect(more.water['salinity']).toBeUndefined();
    expect((await post(`/api/batches/${id}/more`, {})).status).toBe(422);
    // 40 L of 38.5 poured up to 35: 40 × (38.5 / 35 − 1) = 4 L of fresh water.
    const thin = await post('/api/batches/plan', { ...asked, salinity_now: 38.5 });
    expect(thin.json<{ fresh_l: number; salt_g: number }>()).toMatchObject({ salt_g: 0 });
    expect(thin.json<{ fresh_l: number }>().fresh_l).toBeCloseTo(4, 9);
    expect(problemIn(await post('/api/batches/plan', { litres: 40, salinity: 35 }), 409).detail).toContain('label');
  });
});
