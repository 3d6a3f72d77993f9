import { readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, test, vi } from 'vitest';
import type { AnswerOf } from '#hub/api/contract.ts';
import type { IonsView } from '#hub/api/ions.ts';
import type { MonthsView } from '#hub/api/months.ts';
import type { NutrientView } from '#hub/api/nutrients.ts';
import type { SourceView } from '#hub/api/sources.ts';
import type { VolumeView } from '#hub/api/volume.ts';
import { isoWeekAt } from '#hub/model/calendar/iso-week.ts';
import type { Hub } from '#hub/room/hub.ts';
import { freePort } from '../../servers/free-port.ts';
import { configOf, getJson, roomText, scratchRoom, startHubHere } from '../../servers/hub-process.ts';
import { patience } from '../../servers/server-process.ts';
import { verbHere } from '../cli/verb-here.ts';
import { ask, problemIn } from './ask.ts';

// Slow on a loaded machine, and no time is asserted.
vi.setConfig({ testTimeout: 120_000 * patience(), hookTimeout: 120_000 * patience() });

const dayMs = 86_400_000;

/** 53 g/L of Na2CO3 (105.99 g/mol, 2 eq/mol) are 1.0001 meq/mL: 100 mL in 400 L raise 0.25003 meq/L, which is 0.7010 dKH. */
const stocks = [{ id: 'soda', name: 'Soda, home-made', substance: 'sodium_carbonate', grams_per_litre: 53 }];
const riseOf100Ml = 0.701;
const system = { id: 'display', name: 'Display tank', volume_l: 400, bands: { alkalinity: { low: 7.5, high: 9 } } };

describe('what shows only over weeks', () => {
  const scratch = scratchRoom();
  const path = join(scratch.dir, 'room.yaml');
  let hub: Hub;

  beforeAll(async () => {
    const systems = [
      { ...system, stocks },
      {
        ...{
          id: 'limed',
          name: 'Limed',
          volume_l: 500,
          bands: { alkalinity: { low: 7.5, high: 9, most_per_day: 0.5 } },
        },
        stocks: [
          { id: 'lime', name: 'Lime water', substance: 'calcium_hydroxide', top_off: { evaporation_l_per_day: 4 } },
          {
            ...{ id: 'reactor', name: 'Reactor', substance: 'calcium_reactor' },
            effluent: { alkalinity_dkh: 25, ph: 6.6 },
          },
          {
            ...{ id: 'salts', name: 'Balanced salts', substance: 'own_strength', raises: 'alkalinity' },
            ...{ raises_100_l_by_per_ml: 0.1, also_raises_100_l_by_per_ml: { calcium: 0.7147 } },
          },
        ],
        standing_plan: [
          { stock: 'reactor', ml_per_day: 20_000, times_per_day: 24 },
          { stock: 'salts', ml_per_day: 5 },
        ],
      },
      {
        ...{ id: 'grown', name: 'Grown', volume_l: 618, bands: { alkalinity: { low: 7.5, high: 9 } } },
        stocks: [
          { id: 'lime', name: 'Lime water', substance: 'calcium_hydroxide', top_off: { evaporation_l_per_day: 4 } },
        ],
      },
      {
        ...{ id: 'pumped', name: 'Pumped', volume_l: 400, bands: { alkalinity: { low: 7.5, high: 9 } } },
        stocks: [{ ...stocks[0], container_ml: 5000, most_ml_per_day_per_100_l: 50 }],
      },
      { id: 'spare', name: 'Spare', volume_l: 60, bands: { alkalinity: { low: 7, high: 9 } } },
    ];
    writeFileSync(path, roomText(scratch.dir, { systems, http: { port: await freePort() } }));
    hub = await startHubHere(configOf(readFileSync(path, 'utf8')));
    // There are 320 L of water in it, so each 100 mL raise by 400 / 320 of what the stated volume says; the corals use as much.
    const nowMs = Date.now();
    for (let day = 40; day >= 1; day -= 1) {
      const timeMs = nowMs - day * dayMs;
      const isLow = day % 5 < 2;
      const value = 8 + (isLow ? 0 : (riseOf100Ml * 400) / 320) + 0.03 * Math.sin(7 * day);
      const entry = { system: 'display', recordedMs: timeMs };
      const body = { analyte: 'alkalinity', value, sd: 0.05, given_value: value, given_unit: 'dKH' };
      hub.store.commit({ entries: [{ ...entry, kind: 'test', timeMs, body }] });
      // Given on the second low day, and used up between the two days before.
      if (day % 5 === 0)
        hub.store.commit({
          entries: [{ ...entry, kind: 'dose', timeMs: timeMs + 1000, body: { stock: 'soda', ml: 100 } }],
        });
    }
  });

  afterAll(async () => {
    await hub?.stop();
    scratch.remove();
  });

  test('a stated volume that does not fit is passed over', async () => {
    const told = await getJson<VolumeView>(`${hub.url}/api/volume/display`);
    expect(told.stated_l).toBe(400);
    expect(told.learned?.is_learned).toBe(true);
    expect(told.learned?.low95_l).toBeLessThan(320);
    expect(told.learned?.high95_l).toBeGreaterThan(320);
    expect(told.is_off).toBe(true);
    expect(told.text).toMatch(
      /^400 L stated, \d+ ± \d+ by your doses\. Every dose .* moves the water more than it should/,
    );
    const verb = await verbHere(['long-term', 'volume', 'display', '--config', path]);
    expect(verb.code).toBe(0);
    expect(verb.out).toContain(told.text);
    expect(verb.out).toContain('by alkalinity: ');
  });

  test('a diluted tank looks as if it lacked alkalinity, in the working of an estimate and in the file of the week', async () => {
    const at = (body: unknown) => ask(hub.url, '/api/tests', { body });
    await at({ system: 'spare', analyte: 'salinity', value: 31.5, confirmed: true });
    await at({ system: 'spare', analyte: 'alkalinity', value: 7.2, confirmed: true });
    // 7.2 × 35 / 31.5 = 8.
    const told = await getJson<AnswerOf<'GET /api/estimates/:system/:analyte'>>(
      `${hub.url}/api/estimates/spare/alkalinity`,
    );
    expect(told.tests[0]?.valueAt35).toBeCloseTo(8, 9);
    expect(told.tests[0]?.words).toContain('tested 7.2 (8.00 at salinity 35)');
    const week = isoWeekAt(Date.now(), 'Europe/Lisbon');
    const csv = (await ask(hub.url, `/api/weeks/${week}/tests-doses.csv`)).text;
    expect(csv).toMatch(/spare,test,alkalinity,7.2,dKH,,31.5,8,7.2,dKH/);
    expect(csv).toMatch(/spare,test,salinity,31.5,,,,,31.5/);
    const iso = (timeMs: number) => new Date(timeMs).toISOString();
    const [from, to] = [iso(Date.now() - dayMs), iso(Date.now() + dayMs)];
    const { text } = await ask(hub.url, `/api/marks/spare?from=${from}&to=${to}`);
    expect(text).toContain('Test: 7.2 dKH (8 at salinity 35)');
  });

  test('a phosphate kit that shows 0 is taken for a tank without phosphate, or the ratio is hidden', async () => {
    const enter = async (analyte: string, value: number, daysAgo: number) =>
      (
        await ask(hub.url, '/api/tests', {
          body: {
            ...{ system: 'spare', analyte, value, confirmed: true },
            time: new Date(Date.now() - daysAgo * dayMs).toISOString(),
          },
        })
      ).json<{ saved: string }>().saved;
    for (const day of [9, 6, 3]) {
      await enter('nitrate', 6.2, day);
      await enter('phosphate', 0.1, day);
    }
    const told = await getJson<NutrientView>(`${hub.url}/api/nutrients/spare`);
    expect(told.by_mass).toBeCloseTo(62, -1);
    expect(told.by_mass_low95).toBeLessThan(62);
    expect(told.text).toMatch(
      /^Nitrate 6\.\d mg\/L \(.*\), phosphate 0\.\d{3} mg\/L .* to 1 by mass .* atoms of nitrogen/,
    );
    expect(await enter('phosphate', 0, 0)).toBe('Saved: phosphate below 0.02 mg/L');
    const { tests } = await getJson<AnswerOf<'GET /api/estimates/:system/:analyte'>>(
      `${hub.url}/api/estimates/spare/phosphate`,
    );
    expect(tests.at(-1)?.words).toContain('tested below 0.02, expected');
    const verb = await verbHere(['long-term', 'nutrients', 'spare', '--config', path]);
    expect(verb.out).toContain('phosphate 0.');
  });

  test('lime water, a reactor and balanced salts are left out of plan, use, advice or pH', async () => {
    const enter = (analyte: string, value: number, daysAgo: number) =>
      ask(hub.url, '/api/tests', {
        body: {
          ...{ system: 'limed', analyte, value, confirmed: true },
          time: new Date(Date.now() - daysAgo * dayMs).toISOString(),
        },
      });
    await enter('ph', 8.2, 0);
    const told = await getJson<SourceView[]>(`${hub.url}/api/sources/limed`);
    const of = (stock: string) => told.find((each) => each.stock === stock)!;
    // 0.9 × 1.59 g/L of Ca(OH)2 (74.092 g/mol, 2 eq) in 4 L: 0.15452 eq in 500 L, at 0.35665 meq/L a dKH.
    expect(of('lime').ml_per_day).toBe(4000);
    expect(of('lime').rises_per_day.alkalinity).toBeCloseTo(0.8665, 2);
    expect(of('lime').cautions.join(' ')).toContain('caustic');
    // (25 − 8) dKH × 20 L / 500 L, and 7.147 mg/L of calcium to each dKH.
    expect(of('reactor').rises_per_day.alkalinity).toBeCloseTo(0.68, 6);
    expect(of('reactor').rises_per_day.calcium).toBeCloseTo(0.68 * 7.147, 2);
    expect(of('reactor').co2_mmol_per_day).toBeGreaterThan(0);
    expect(of('reactor').ph_after_day).toBeLessThan(8.1);
    expect(of('reactor').text).toContain('before any of it leaves, pH (total scale) would go from 8.0');
    // 5 mL × 0.1 dKH in 100 L.
    expect(of('salts').rises_per_day).toMatchObject({
      alkalinity: expect.closeTo(0.1, 9),
      calcium: expect.closeTo(0.7147, 9),
    });
    for (const day of [12, 10, 8, 6, 4, 2, 0.01]) await enter('alkalinity', 7.4, day);
    const estimate = await getJson<AnswerOf<'GET /api/estimates/:system/:analyte'>>(
      `${hub.url}/api/estimates/limed/alkalinity`,
    );
    // The level stays: what all three give is used.
    expect(estimate.estimate?.demandPerDay).toBeCloseTo(0.8665 + 0.68 + 0.1, 1);
    const [advised] = await getJson<AnswerOf<'GET /api/advice/:system'>>(`${hub.url}/api/advice/limed`);
    expect(advised?.advice.working.join(' ')).toContain('1 mL of Lime water in 500 L raises alkalinity');
    // No more lime water than evaporates.
    expect(
      [...(advised?.advice.plan ?? []), ...(advised?.advice.today ?? [])].map(({ product }) => product?.id),
    ).not.toContain('lime');
    expect((await verbHere(['long-term', 'sources', 'limed', '--config', path])).out).toContain(
      '! Carbon dioxide from a bottle',
    );
  });

  test('nobody hears that the use will outgrow lime water and water changes', async () => {
    const nowMs = Date.now();
    for (let day = 80; day >= 0; day -= 2) {
      const timeMs = nowMs - day * dayMs - 1000;
      // 0.1 dKH a day more than the lime brings 80 days ago, and 1.5 % of it more each day.
      const used = (until: number) => (0.5 / 0.015) * (Math.exp(0.015 * (80 - until)) - 1);
      const value = 9 + 0.7 * (80 - day) - used(day) + 0.02 * Math.sin(7 * day);
      const body = { analyte: 'alkalinity', value, sd: 0.05, given_value: value, given_unit: 'dKH' };
      hub.store.commit({ entries: [{ system: 'grown', recordedMs: timeMs, kind: 'test', timeMs, body }] });
    }
    const told = await getJson<MonthsView>(`${hub.url}/api/months-ahead/grown`);
    const lime = told.outgrown.find(({ what }) => what === 'lime_water');
    // 4 L of 1.431 g/L (74.092 g/mol, 2 eq) in 618 L: 0.7 dKH a day; the use is at 0.5 × exp(0.015 × 80) = 1.66 by now.
    expect(lime?.limit_per_day).toBeCloseTo(0.7, 2);
    expect(lime).toMatchObject({ analyte: 'alkalinity', likely_days: 0 });
    expect(lime?.text).toMatch(
      /^Alkalinity use is already above the lime water that evaporation allows \(0\.7\d? dKH a day\)\.$/,
    );
    expect(told.growth[0]?.low95).toBeGreaterThan(0);
    const dosing = await getJson<MonthsView>(`${hub.url}/api/months-ahead/spare`);
    expect(dosing.outgrown).toEqual([]);
    expect((await verbHere(['long-term', 'months', 'grown', '--config', path])).out).toMatch(
      /Alkalinity use rose \d+ % a month/,
    );
  });

  test('of a pump that logs each dose, and has no plan, nothing is ever outgrown', async () => {
    const nowMs = Date.now();
    const kept = { system: 'pumped', recordedMs: nowMs };
    for (let day = 30; day >= 1; day -= 1) {
      const timeMs = nowMs - day * dayMs;
      const body = { analyte: 'alkalinity', value: 8, sd: 0.05, given_value: 8, given_unit: 'dKH' };
      hub.store.commit({
        entries: [
          { ...kept, kind: 'dose', timeMs: timeMs + 1000, body: { stock: 'soda', ml: 100 } },
          ...(day % 3 === 0 ? [{ ...kept, kind: 'test' as const, timeMs, body }] : []),
        ],
      });
    }
    const { outgrown } = await getJson<MonthsView>(`${hub.url}/api/months-ahead/pumped`);
    const limits = Object.fromEntries(outgrown.map(({ what, limit_per_day }) => [what, limit_per_day]));
    // 200 mL a day may be given; 5 L last a week at 714 mL a day.
    expect(limits['dosing']).toBeCloseTo(2 * riseOf100Ml, 2);
    expect(limits['container']).toBeCloseTo((5000 / 7 / 100) * riseOf100Ml, 2);
  });

  test('nobody hears what lime leaves behind, or what a solution of unknown make-up may', async () => {
    const told = await getJson<IonsView>(`${hub.url}/api/ions/limed`);
    expect(told.salt_per_day_mg_l).toBe(0);
    expect(told.not_counted).toEqual(['Balanced salts']);
    expect((await verbHere(['long-term', 'ions', 'limed', '--config', path])).out).toContain('Ask the maker');
    // 8 doses of 100 mL in 90 days: 53 g/L of Na2CO3 (105.99 g/mol) in 400 L, two sodium (22.99 g/mol) each.
    const soda = await getJson<IonsView>(`${hub.url}/api/ions/display`);
    const sodium = (((8 * 0.1 * 53) / 105.99) * 2 * 22_990) / 400 / 90;
    expect(soda.ions.find(({ ion }) => ion === 'Na')?.rise_per_day_mg_l).toBeCloseTo(sodium, 3);
    expect(problemIn(await ask(hub.url, '/api/ions/nowhere'), 404).detail).toMatch(
      /^No system "nowhere". You have: .*limed/,
    );
  });

  test('a laboratory’s table cannot be read by its own columns, or compared with the sea', async () => {
    await ask(hub.url, '/api/tests', { body: { system: 'limed', analyte: 'salinity', value: 35, confirmed: true } });
    const file = join(scratch.dir, 'laboratory.csv');
    // Millero et al. 2008: 412.08 mg of calcium and 399.1 of potassium in a kilogram of 1.0233 kg/L at S = 35.
    writeFileSync(file, 'What;Found;In\nCalcium;421,7;mg/l\nPotassium;290;mg/L\nCu;<2;µg/l\nTin;x;mg/L\n');
    const columns = ['--element', 'What', '--value', 'Found', '--unit', 'In', '--separator', ';'];
    const verb = await verbHere(['laboratory', 'limed', file, ...columns, '--config', path]);
    expect(verb.err).toBe('');
    const lines = verb.out.trimEnd().split('\n');
    expect(lines[0]).toBe('At salinity 35.0: K 29 % low (used by corals and algae, or taken by zeolite).');
    expect(lines[1]).toMatch(/^ {2}K: 290 mg\/L, 71 % of the sea’s 408\.4/);
    expect(lines[2]).toBe('  Ca: 421.7 mg/L, 100 % of the sea’s 421.7');
    expect(verb.out).toContain('Cu: below 0.002 mg/L, no reference');
    expect(verb.out).toContain('! not understood: Tin: value "x"');
    expect((await verbHere(['laboratory', 'limed', file, '--separator', ';', '--config', path])).err).toContain(
      'no column element',
    );
    const unparted = await verbHere(['laboratory', 'limed', file, '--config', path]);
    expect(unparted.err).toContain('its header is one column, "What;Found;In": try --separator ";"');
    const tabbed = join(scratch.dir, 'tabbed.csv');
    writeFileSync(tabbed, 'element\tvalue\tunit\nK\t290\tmg/L\n');
    const byTab = await verbHere(['laboratory', 'limed', tabbed, '--separator', 'tab', '--config', path]);
    expect(byTab.out).toContain('  K: 290 mg/L, 71 % of the sea’s 408.4');
    problemIn(await ask(hub.url, '/api/laboratory/nowhere', { body: { rows: [{ element: 'Ca', value: 400 }] } }), 404);
  });

  test('a tank without tests has a volume by doses', async () => {
    const told = await getJson<VolumeView>(`${hub.url}/api/volume/spare`);
    expect(told).toMatchObject({ learned: null, is_off: false, by_analyte: [] });
    expect(told.text).toBe('60.0 L stated. Too few tests to say whether it fits.');
    problemIn(await ask(hub.url, '/api/volume/nowhere'), 404);
  });
});
