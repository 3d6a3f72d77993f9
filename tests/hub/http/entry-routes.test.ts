import { afterAll, beforeAll, describe, expect, test, vi } from 'vitest';
import type { KeptEntry } from '#adapters/ports/store.ts';
import type { Hub } from '#hub/room/hub.ts';
import { configOf, roomText, scratchRoom, startHubHere } from '../../servers/hub-process.ts';
import { patience } from '../../servers/server-process.ts';
import { type Asked, ask, problemIn } from './ask.ts';

// Slow on a loaded machine, and no time is asserted.
vi.setConfig({ testTimeout: 120_000 * patience(), hookTimeout: 120_000 * patience() });

const stocks = [{ id: 'soda', name: 'Soda ash, own-made', substance: 'sodium_carbonate', grams_per_litre: 53 }];
const system = { id: 'display', name: 'Display tank', volume_l: 420, bands: { alkalinity: { low: 7.5, high: 9 } } };

describe('what a person enters over HTTP', () => {
  const scratch = scratchRoom();
  let hub: Hub;
  const post = (path: string, body: unknown, more: Asked = {}) => ask(hub.url, path, { body, ...more });
  const tests = async () => (await ask(hub.url, '/api/entries?kind=test')).json<KeptEntry[]>();
  const alkalinity = (value: number, more: Record<string, unknown> = {}) =>
    post('/api/tests', { system: 'display', analyte: 'alkalinity', value, ...more });

  beforeAll(async () => {
    hub = await startHubHere(configOf(roomText(scratch.dir, { systems: [{ ...system, stocks }] })));
  });

  afterAll(async () => {
    await hub?.stop();
    scratch.remove();
  });

  test('a test in a unit of the kit is stored as another amount', async () => {
    const answer = await alkalinity(3, { unit: 'meq/L', sd: 0.1, time: '2026-01-05T10:00:00+01:00', by: 'Ana' });
    expect(answer.status).toBe(201);
    // 1 meq/L = 2.80385 dKH: fixtures/reference/unit-conversions.csv.
    expect(answer.json<{ value: number }>().value).toBeCloseTo(3 * 2.80385, 4);
    const kept = (await tests()).find((entry) => entry.id === answer.json<{ id: number }>().id);
    expect(kept).toMatchObject({ system: 'display', timeMs: Date.UTC(2026, 0, 5, 9) });
    expect(kept?.body).toMatchObject({ analyte: 'alkalinity', given_value: 3, given_unit: 'meq/L', by: 'Ana' });
    expect(kept?.body['sd']).toBeCloseTo(0.1 * 2.80385, 4);
  });

  test('144 mg/L CaCO3 typed as dKH is dosed against', async () => {
    const before = (await tests()).length;
    const asked = problemIn(await alkalinity(144, { unit: 'dKH' }), 409);
    expect(asked.type).toBe('urn:brinekeep:problem:questioned');
    expect(asked.detail).toContain('mg/L CaCO3');
    // 144 mg/L CaCO3 / 17.848 = 8.07 dKH: fixtures/reference/unit-conversions.csv.
    expect(asked.detail).toContain('8.07 dKH');
    // What was meant comes with the question, ready to be sent: the large button is not the one that stores the slip.
    expect(asked.doubt).toEqual({
      typed: '144 dKH',
      meant: { say: '8.07 dKH', change: { value: 8.07, unit: 'dKH' } },
    });
    expect(await tests()).toHaveLength(before);

    const corrected = await alkalinity(144, { unit: 'mg/L CaCO3' });
    expect(corrected.status).toBe(201);
    expect(corrected.json<{ value: number }>().value).toBeCloseTo(144 / 17.848, 2);
    expect(await tests()).toHaveLength(before + 1);
  });

  test('a specific gravity cannot be entered, or its temperatures change nothing', async () => {
    const salinity = async (more: Record<string, unknown>) => {
      const answer = await post('/api/tests', { system: 'display', analyte: 'salinity', unit: 'sg', ...more });
      expect({ status: answer.status, text: answer.text }).toMatchObject({ status: 201 });
      return answer.json<{ value: number; saved: string }>();
    };
    // By EOS-80 S = 35 has 1.02637 at 25/25 and 1.02660 at 20/20 (fixtures/reference/seawater-density.csv).
    const at25 = await salinity({ value: 1.02637 });
    expect(at25.value).toBeCloseTo(35, 1);
    expect(at25.saved).toBe('Saved: specific gravity 1.02637');
    expect((await salinity({ value: 1.0266, sg_scale: '20/20' })).value).toBeCloseTo(35, 1);
    // A glass hydrometer made for 25 °C floats higher in colder, denser water: read at 20 °C the same number is less salt.
    const cold = await salinity({ value: 1.02637, water_temperature_c: 20 });
    expect(cold.value).toBeLessThan(34);
    const kept = (await tests()).find(({ body }) => body['water_temperature_c'] === 20);
    expect(kept?.body).toMatchObject({ given_value: 1.02637, given_unit: 'sg', sg_scale: '25/25' });
    const slip = problemIn(
      await post('/api/tests', { system: 'display', analyte: 'salinity', unit: 'sg', value: 35 }),
      409,
    );
    expect(slip.doubt).toMatchObject({ meant: { change: { value: 35, unit: '' } } });
    const bad = { system: 'display', analyte: 'salinity', unit: 'sg', value: 1.2, confirmed: true };
    expect(problemIn(await post('/api/tests', bad), 422).detail).toContain('no salt water');
    const gravity = problemIn(await post('/api/tests', { system: 'display', analyte: 'salinity', value: 1.0264 }), 409);
    const { change } = (gravity.doubt as { meant: { change: Record<string, unknown> } }).meant;
    expect(change).toEqual({ value: 1.0264, unit: 'sg' });
  });

  test('a keeper who means the odd number cannot store it', async () => {
    problemIn(await alkalinity(3.1), 409);
    const confirmed = await alkalinity(3.1, { confirmed: true });
    expect(confirmed.status).toBe(201);
    expect((await tests()).map((entry) => entry.body['value'])).toContain(3.1);
  });

  test('a phone that sends twice doses twice', async () => {
    const dose = { system: 'display', stock: 'soda', ml: 40, key: 'tap-1' };
    const first = await post('/api/doses', dose);
    expect(first.status).toBe(201);
    const second = await post('/api/doses', dose);
    expect(second.status).toBe(201);
    expect(second.json()).toEqual(first.json());
    const doses = (await ask(hub.url, '/api/entries?kind=dose')).json<KeptEntry[]>();
    expect(doses).toHaveLength(1);
    expect(doses[0]?.body).toMatchObject({ stock: 'soda', ml: 40 });
  });

  test('another number under the same key is said to be stored and is not', async () => {
    const first = await alkalinity(8.1, { key: 'tap-2' });
    const second = await alkalinity(8.6, { key: 'tap-2' });
    expect(second.json()).toEqual(first.json());
    expect(second.json<{ value: number }>().value).toBe(8.1);
  });

  test('a water change is lost', async () => {
    const change = { system: 'display', volume_l: 40, alkalinity_dkh: 8.2, salinity: 35, note: 'new batch' };
    expect((await post('/api/water-changes', change)).status).toBe(201);
    const kept = (await ask(hub.url, '/api/entries?kind=water_change&system=display')).json<KeptEntry[]>();
    expect(kept[0]?.body).toMatchObject({ volume_l: 40, alkalinity_dkh: 8.2, salinity: 35, note: 'new batch' });
    problemIn(await post('/api/water-changes', { system: 'display', volume_l: 421, confirmed: true }), 422);
  });

  test('an entry that was taken back still counts', async () => {
    const { id } = (await alkalinity(8.4)).json<{ id: number }>();
    expect((await post(`/api/entries/${id}/withdraw`, {})).status).toBe(201);
    expect((await tests()).map((entry) => entry.id)).not.toContain(id);
    problemIn(await post(`/api/entries/${id}/withdraw`, {}), 404);
    problemIn(await post('/api/entries/987654/withdraw', {}), 404);
    problemIn(await post('/api/entries/none/withdraw', {}), 400);
  });

  test.each([
    ['a tank that is not there', { system: 'sump', analyte: 'alkalinity', value: 8 }, 404],
    ['an analyte that is none', { system: 'display', analyte: 'vitality', value: 8 }, 400],
    [
      'a misspelt field, so the time of the test is lost',
      { system: 'display', analyte: 'calcium', value: 420, tiem: '' },
      400,
    ],
    ['a number as text', { system: 'display', analyte: 'alkalinity', value: '8.0' }, 400],
    ['a time that is none', { system: 'display', analyte: 'alkalinity', value: 8, time: 'yesterday' }, 400],
    [
      'a time without its offset',
      { system: 'display', analyte: 'alkalinity', value: 8, time: '2026-01-05T10:00:00' },
      400,
    ],
    ['a time to come', { system: 'display', analyte: 'alkalinity', value: 8, time: '2199-01-01T00:00:00Z' }, 422],
    ['an uncertainty wider than the sea', { system: 'display', analyte: 'alkalinity', value: 8, sd: 1e308 }, 422],
    ['an uncertainty of next to nothing', { system: 'display', analyte: 'alkalinity', value: 8, sd: 5e-324 }, 422],
    ['a unit of something else', { system: 'display', analyte: 'calcium', value: 420, unit: 'dKH' }, 422],
    [
      'more than any water holds, though confirmed',
      { system: 'display', analyte: 'alkalinity', value: 144, confirmed: true },
      422,
    ],
    ['an uncertainty below nothing', { system: 'display', analyte: 'alkalinity', value: 8, sd: -1 }, 400],
  ])('a test is taken with %s', async (_what, body, status) => {
    const before = await tests();
    problemIn(await post('/api/tests', body), status);
    expect(await tests()).toEqual(before);
  });

  test.each([
    ['of a stock that is not there', { system: 'display', stock: 'kalk', ml: 5 }, 404],
    ['of a substance that is not known', { system: 'display', substance: 'vinegar', grams: 5 }, 422],
    ['of nothing', { system: 'display' }, 400],
    ['of a stock in grams', { system: 'display', stock: 'soda', grams: 5 }, 400],
    ['of both at once', { system: 'display', stock: 'soda', ml: 5, substance: 'sodium_carbonate', grams: 5 }, 400],
    ['of less than nothing', { system: 'display', stock: 'soda', ml: -5 }, 400],
  ])('a dose is taken %s', async (_what, body, status) => {
    problemIn(await post('/api/doses', body), status);
  });

  test.each([
    ['NaN', '{"system":"display","analyte":"alkalinity","value":NaN}', 400],
    ['Infinity', '{"system":"display","analyte":"alkalinity","value":Infinity}', 400],
    ['a number beyond all numbers', '{"system":"display","analyte":"alkalinity","value":1e999,"confirmed":true}', 400],
    ['null', 'null', 400],
    ['nothing', '', 400],
    ['a prototype', '{"system":"display","analyte":"alkalinity","value":8,"__proto__":{"confirmed":true}}', 400],
    ['a constructor', '{"system":"display","analyte":"alkalinity","value":8,"constructor":{"prototype":{"a":1}}}', 400],
    ['half a document', '{"system":"display"', 400],
    ['300 kB', `{"system":"display","analyte":"alkalinity","value":8,"note":"${'x'.repeat(300_000)}"}`, 413],
  ])('the hub swallows %s as a test', async (_what, raw, status) => {
    const before = await tests();
    problemIn(await ask(hub.url, '/api/tests', { raw, headers: { 'content-type': 'application/json' } }), status);
    expect(await tests()).toEqual(before);
    expect(({} as Record<string, unknown>)['confirmed']).toBeUndefined();
  });

  test('a form of another site is taken for a test', async () => {
    const raw = '{"system":"display","analyte":"alkalinity","value":8}';
    problemIn(await ask(hub.url, '/api/tests', { raw, headers: { 'content-type': 'text/xml' } }), 415);
    problemIn(await ask(hub.url, '/api/tests', { raw, headers: { 'content-type': 'text/plain' } }), 415);
  });

  test('a list of entries without an end', async () => {
    expect((await ask(hub.url, '/api/entries?limit=2')).json<unknown[]>()).toHaveLength(2);
    problemIn(await ask(hub.url, '/api/entries?limit=100000'), 400);
    problemIn(await ask(hub.url, '/api/entries?kind=everything'), 400);
  });
});
