import { readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, test, vi } from 'vitest';
import type { AnswerOf } from '#hub/api/contract.ts';
import type { GasView } from '#hub/api/gas.ts';
import type { Hub } from '#hub/room/hub.ts';
import type { Metric } from '#rules/quantity/metric.ts';
import { gasTank } from '../../rules/trend/gas-tank.ts';
import { freePort } from '../../servers/free-port.ts';
import { configOf, getJson, roomText, scratchRoom, startHubHere } from '../../servers/hub-process.ts';
import { patience } from '../../servers/server-process.ts';
import { verbHere } from '../cli/verb-here.ts';
import { ask, problemIn } from './ask.ts';

// Slow on a loaded machine, and no time is asserted.
vi.setConfig({ testTimeout: 120_000 * patience(), hookTimeout: 120_000 * patience() });

const hourMs = 3_600_000;
const dayMs = 24 * hourMs;
const dkhInUmol_kg = 349;
/** The first invented tank that is dosed evenly, as a plan is taken to be, and with what lifts pH at once. */
const tank = Array.from({ length: 20 }, (_, at) => 20_001 + at)
  .map((seed) => gasTank(seed, 23))
  .find((each) => !each.isDosedByNight && each.carbonGiven_umol_kg_h < 0.9 * each.used_umol_kg_h)!;
/** Each of a strength of 1 meq/mL: molar masses of IUPAC 2021 (105.99 for two equivalents). */
const soda = {
  0: { substance: 'sodium_hydroxide', grams_per_litre: 39.997 },
  0.5: { substance: 'sodium_carbonate', grams_per_litre: 52.994 },
  1: { substance: 'sodium_bicarbonate', grams_per_litre: 84.006 },
}[(tank.carbonGiven_umol_kg_h / tank.used_umol_kg_h).toFixed(1).replace('.0', '') as '0' | '0.5' | '1'];

describe('day, night and air of a tank', () => {
  const scratch = scratchRoom();
  const path = join(scratch.dir, 'room.yaml');
  let hub: Hub;

  beforeAll(async () => {
    const bands = { alkalinity: { low: 10.5, high: 12, most_per_day: 0.5 }, ph: { low: 7.5, high: 8.6 } };
    const systems = [
      {
        ...{ id: 'display', name: 'Display tank', volume_l: 400, bands },
        stocks: [{ id: 'soda', name: 'Soda', ...soda }],
        // As much as is used, in 400 L of 1.0235 kg/L.
        standing_plan: [
          { stock: 'soda', ml_per_day: (tank.used_umol_kg_h * 24 * 400 * 1.0235) / 1000, times_per_day: 24 },
        ],
      },
      { id: 'spare', name: 'Spare', volume_l: 60, bands: { alkalinity: { low: 7, high: 9 } } },
    ];
    const site = { name: 'Fish room (invented)', timezone: 'Etc/UTC' };
    writeFileSync(path, roomText(scratch.dir, { site, systems, http: { port: await freePort() } }));
    hub = await startHubHere(configOf(readFileSync(path, 'utf8')));
    const startMs = Math.floor(Date.now() / dayMs) * dayMs - 22 * dayMs;
    const read = (metric: Metric, timeMs: number, value: number) => ({
      ...{ series: { system: 'display', metric, probe: metric }, timeMs },
      quality: { flag: 'pass' as const, value },
    });
    const known = tank.hours.filter(({ hour }) => startMs + hour * hourMs < Date.now() - hourMs);
    for (const { hour, phTotal, temperature_C } of known) {
      const timeMs = startMs + (hour + 0.5) * hourMs;
      // A probe in usual buffers shows some 0.13 more than the total scale.
      hub.store.add([
        read('ph', timeMs, phTotal + 0.13),
        read('temperature', timeMs, temperature_C),
        read('salinity', timeMs, tank.salinity),
        read('aragonite_saturation', timeMs, 3 + phTotal - 8),
      ]);
    }
    hub.store.flush();
    const [hour, minute] = [Math.floor(tank.lightsOn), (tank.lightsOn % 1) * 60];
    const on_at = `${String(hour).padStart(2, '0')}:${String(minute).padStart(2, '0')}`;
    const time = new Date(Date.now() - 30 * dayMs).toISOString();
    await ask(hub.url, '/api/light/display/lamp', {
      body: { name: 'Old lamp', on_at, full_hours: tank.lightsOut - tank.lightsOn, time },
    });
    const value = Number((known.at(-1)!.totalAlkalinity_umol_kg / dkhInUmol_kg).toFixed(2));
    for (let day = 21; day >= 0; day -= 3) {
      const time = new Date(Date.now() - day * dayMs).toISOString();
      await ask(hub.url, '/api/tests', {
        body: { system: 'display', analyte: 'alkalinity', value, sd: 0.1, time, confirmed: true },
      });
    }
  });

  afterAll(async () => {
    await hub?.stop();
    scratch.remove();
  });

  test('the course of the day, the gas exchange or the causes of a low pH are not told', async () => {
    const told = await getJson<GasView>(`${hub.url}/api/gas/display`);
    expect(told.ph?.hours).toHaveLength(24);
    const means = told.ph!.hours.map(({ mean }) => mean);
    expect(told.ph!.lowest).toBeLessThanOrEqual(Math.min(...means));
    expect(told.aragonite_saturation?.lowest).toBeLessThan(3.5);
    expect(told.is_light_told).toBe(true);
    expect(told.transfer_per_h?.nights).toBeGreaterThan(10);
    expect(told.transfer_per_h!.low95).toBeLessThan(tank.coefficient_per_h);
    expect(told.transfer_per_h!.high95).toBeGreaterThan(tank.coefficient_per_h);
    expect(told.half_life_h!.low95).toBeLessThan(told.half_life_h!.high95);
    expect(told.low_ph).toMatchObject({ in_room_air: null, share_of_room: null, with_reactor: null });
    expect(told.text.join(' ')).toMatch(/pH \d\.\d\d to .* on a typical day .* Gas exchange: .* Enter the room’s CO2/);
    const verb = await verbHere(['long-term', 'gas', 'display', '--config', path]);
    expect(verb.out.trimEnd().split('\n')).toEqual(told.text);
    problemIn(await ask(hub.url, '/api/gas/nowhere'), 404);
  });

  test('a room whose air was entered has no share, or stuffy air is kept quiet', async () => {
    const entered = await ask(hub.url, '/api/tests', {
      body: { system: 'display', analyte: 'room_co2', value: 2400, unit: 'ppm', confirmed: true },
    });
    expect(entered.json<{ saved: string }>().saved).toBe('Saved: room CO2 2400 ppm');
    const told = await getJson<GasView>(`${hub.url}/api/gas/display`);
    expect(told.room_ppm).toBe(2400);
    expect(told.low_ph!.in_room_air!).toBeLessThan(told.low_ph!.in_outdoor_air!);
    expect(told.text.join(' ')).toContain('With the room’s 2400 ppm it would be at');
    expect(told.cautions.join(' ')).toContain('ventilate for people too');
  });

  test('advice on a dose does not forecast its pH', async () => {
    // The next entry makes the advice again, with what was learned meanwhile.
    const value = Number((tank.hours.at(-1)!.totalAlkalinity_umol_kg / dkhInUmol_kg).toFixed(2)) - 0.02;
    await ask(hub.url, '/api/tests', { body: { system: 'display', analyte: 'alkalinity', value, confirmed: true } });
    const [advised] = await getJson<AnswerOf<'GET /api/advice/:system'>>(`${hub.url}/api/advice/display`);
    const predicted = advised!.advice.predicted!;
    expect(predicted.phForecast).toHaveLength(2);
    for (const { likely, low95, high95 } of predicted.phForecast!) {
      // What is forecast stays below the limit by which the dose was cut.
      expect(likely).toBeLessThan(predicted.phAfterLargestDose!);
      expect(low95).toBeLessThanOrEqual(likely);
      expect(high95).toBeGreaterThanOrEqual(likely);
    }
    expect(advised!.advice.working.join(' ')).toContain('With the gas exchange of this tank pH is likely');
  });

  test('a tank without a probe is told of an exchange', async () => {
    const told = await getJson<GasView>(`${hub.url}/api/gas/spare`);
    expect(told).toMatchObject({ ph: null, transfer_per_h: null, low_ph: null });
    expect(told.text.join(' ')).toContain('the lamp hours, which nobody has entered');
  });
});
