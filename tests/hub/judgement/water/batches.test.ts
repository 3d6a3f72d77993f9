import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { type Answer, ask, problemIn } from '../../http/ask.ts';
import { type ArrivalRoom, hourMs, minuteMs, startArrivalRoom } from '../arrivals/arrival-room.ts';

const startMs = Date.parse('2026-03-02T09:00:00Z');

describe('a batch of salt water, and the change that it goes into', () => {
  let room: ArrivalRoom;
  const post = (path: string, body: unknown = {}): Promise<Answer> => ask(room.hub.url, path, { body });
  const get = (path: string): Promise<Answer> => ask(room.hub.url, path);

  beforeAll(async () => {
    const bands = {
      salinity: { low: 34, high: 36, most_per_day: 0.5 },
      alkalinity: { low: 7.5, high: 9, most_per_day: 0.5 },
    };
    room = await startArrivalRoom(startMs, {
      systems: [
        { id: 'display', name: 'Display tank', volume_l: 400, bands },
        { id: 'vat', name: 'Mixing vat', volume_l: 100, bands: {} },
      ],
    });
    room.measured('salinity', 35, startMs - 2 * hourMs, startMs);
    room.measured('temperature', 25.5, startMs - 2 * hourMs, startMs);
    await post('/api/tests', { system: 'display', analyte: 'alkalinity', value: 8, confirmed: true });
  });
  afterAll(() => room?.stop());

  test('the strength of a salt is not learned from the batches that were measured', async () => {
    // 3.85 kg in 100 L gave 35: 38.5 g/L. 1.9 kg in 50 L gave 35: 38 g/L. The line through both, weighed by grams per litre.
    for (const [litres, salt_g] of [
      [100, 3850],
      [50, 1900],
    ]) {
      const { id } = (await post('/api/batches', { system: 'display', litres, salt: 'blue bag', salt_g })).json<{
        id: string;
      }>();
      await post(`/api/batches/${id}/water`, { salinity: 35 });
    }
    const strength = (await get('/api/salts/blue%20bag')).json<{ grams_per_litre_at_35: number; batches: number }>();
    expect(strength.batches).toBe(2);
    expect(strength.grams_per_litre_at_35).toBeCloseTo((38.5 ** 2 + 38 ** 2) / (38.5 + 38), 9);
    const wish = { system: 'display', pieces: [{ count: 1, longest_cm: 5 }], vessel_l: 5, salt: 'blue bag' };
    expect((await post('/api/arrivals/prepare', wish)).status).toBe(200);
    expect(problemIn(await post('/api/arrivals/prepare', { ...wish, salt: 'red bag' }), 409).detail).toContain(
      'grams_per_litre_at_35',
    );
  });

  test('a batch is called ready by a test of yesterday while the probe in the vat says it is cold', async () => {
    const made = { system: 'display', litres: 100, salt: 'blue bag', salt_g: 3825, probes_of: 'vat', key: 'once' };
    const { id } = (await post('/api/batches', made)).json<{ id: string }>();
    expect((await post('/api/batches', made)).json<{ id: string }>().id).toBe(id);
    const match = async () =>
      (await get(`/api/batches/${id}/match`)).json<{ is_ready: boolean; metrics: { verdict: string }[] }>();
    expect((await match()).metrics.map(({ verdict }) => verdict)).toEqual(['not_known', 'not_known', 'not_known']);
    await post(`/api/batches/${id}/water`, { temperature: 25.5, salinity: 35, alkalinity: 8.5 });
    expect((await match()).is_ready).toBe(true);
    room.measured('temperature', 19, startMs - 10 * minuteMs, startMs, 'vat');
    expect((await match()).metrics[0]?.verdict).toBe('differs');
    room.measured('temperature', 25.6, startMs, startMs + 1, 'vat');
    expect((await match()).is_ready).toBe(true);
  });

  test('whoever makes a batch is told to dissolve the salt in tank water', async () => {
    // Common practice, no published source: a batch is made of purified fresh water.
    const plan = { litres: 40, salinity: 35, grams_per_litre_at_35: 38 };
    const { cautions } = (await post('/api/batches/plan', plan)).json<{ cautions: string[] }>();
    expect(cautions.join(' ')).toMatch(/purified fresh water \(reverse osmosis or deionised\)/);
    expect(cautions.join(' ')).not.toMatch(/vessel of tank water/);
  });

  test('a water change moves the tank more than its band allows and nobody says so', async () => {
    // 40 of 400 L: alkalinity 8 + 0.1 × (14 − 8) = 8.6, more than 0.5 in a day. At most 400 × 0.5 / 6 = 33.3 L.
    const plan = (
      await post('/api/water-changes/plan', { system: 'display', volume_l: 40, water: { alkalinity: 14 } })
    ).json<{
      after: { alkalinity: number };
      largest_in_a_day_l: number;
      limited_by: string;
      warnings: string[];
    }>();
    expect(plan.after.alkalinity).toBeCloseTo(8.6, 9);
    expect(plan.largest_in_a_day_l).toBeCloseTo(400 / 12, 9);
    expect(plan.limited_by).toBe('alkalinity');
    expect(plan.warnings.join(' ')).toContain('more than 0.5 in a day');
    const wish = { system: 'display', target: { metric: 'alkalinity', value: 9 }, water: { alkalinity: 14 } };
    const { by_day } = (await post('/api/water-changes/plan', wish)).json<{ by_day: { after: number }[] }>();
    expect(by_day.map(({ after }) => after)).toEqual([8.5, 9]);
    const unknown = { system: 'display', target: { metric: 'nitrate', value: 5 }, water: { nitrate: 0 } };
    expect(problemIn(await post('/api/water-changes/plan', unknown), 409).detail).toContain('nitrate of the tank');
  });

  test('what a water change did is not held against what it should have done', async () => {
    await post('/api/batches/b3/water', { salinity: 30, alkalinity: 10 });
    const done = await post('/api/water-changes/done', { system: 'display', batch: 'b3', volume_l: 80 });
    expect(done.status).toBe(201);
    const { id, expected } = done.json<{ id: number; expected: Record<string, number> }>();
    // A fifth of the tank: 35 − 0.2 × 5 = 34, and 8 + 0.2 × 2 = 8.4.
    expect(expected['salinity']).toBeCloseTo(34, 9);
    expect(expected['alkalinity']).toBeCloseTo(8.4, 9);
    expect(
      problemIn(await post('/api/water-changes/done', { system: 'display', batch: 'b3', volume_l: 80 }), 422).detail,
    ).toContain('20 litres are left');
    expect(room.hub.store.journal({ kind: 'water_change' }).map(({ body }) => body['alkalinity_dkh'])).toEqual([10]);
    room.measured('salinity', 34.1, startMs + hourMs, startMs + 3 * hourMs);
    room.clock.advance(3 * hourMs);
    await post('/api/tests', { system: 'display', analyte: 'alkalinity', value: 8.3, confirmed: true });
    const effect = (await get(`/api/water-changes/${id}/effect`)).json<
      { metric: string; before: number; expected: number; after: number; by: string }[]
    >();
    const of = (metric: string) => effect.find((each) => each.metric === metric);
    expect(of('salinity')).toMatchObject({ by: 'probe', before: 35, after: 34.1 });
    expect(of('salinity')?.expected).toBeCloseTo(34, 9);
    expect(of('alkalinity')).toMatchObject({ by: 'test', before: 8, after: 8.3 });
    expect(of('alkalinity')?.expected).toBeCloseTo(8.4, 9);
    // Nothing was measured of it after the change, so nothing is said.
    expect(of('temperature')).toBeUndefined();
  });
});
