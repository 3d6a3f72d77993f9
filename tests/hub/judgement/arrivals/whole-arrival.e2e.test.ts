import { afterAll, beforeAll, describe, expect, test, vi } from 'vitest';
import type { ArrivalAnswer, PreparedAnswer } from '#hub/api/arrivals.ts';
import type { RunAnswer } from '#hub/api/runs.ts';
import { isMissing } from '../../../machine/parts.mjs';
import { getJson, postJson } from '../../../servers/hub-process.ts';
import {
  type Mosquitto,
  type MosquittoSub,
  mosquittoPub,
  mosquittoSub,
  startMosquitto,
} from '../../../servers/mosquitto.ts';
import { patience, waitUntil } from '../../../servers/server-process.ts';
import { type ArrivalRoom, dayMs, hourMs, minuteMs, startArrivalRoom } from './arrival-room.ts';

// Slow on a loaded machine, and no time is asserted.
vi.setConfig({ testTimeout: 120_000 * patience(), hookTimeout: 120_000 * patience() });

const prefix = 'brinekeep';
const startMs = Date.parse('2026-03-02T09:00:00Z');
/** 42 mL of this lift 420 L by 1 dKH: 42 × 0.1 × 100 / 420. */
const stock = {
  id: 'alk',
  name: 'Alkalinity (invented)',
  substance: 'own_strength',
  raises: 'alkalinity',
  raises_100_l_by_per_ml: 0.1,
};
/** Spread of an invented keeper's kit, dKH: its mean is 0. */
const kitErrors = [0.06, -0.08, 0.02, 0.09, -0.05, -0.04];

type Explained = { demandPerDay?: number };

/** Invented: six frags come into a tank whose use is 1.0 dKH a day, and use 0.3 dKH a day. */
describe.skipIf(isMissing('mosquitto') || isMissing('mosquitto_pub'))('a whole arrival, with the clock sped up', () => {
  let broker: Mosquitto;
  let phone: MosquittoSub;
  let second: MosquittoSub;
  let room: ArrivalRoom;
  let dipMs = 0;

  const linesWith = (words: string, sub = phone) => sub.lines().filter((line) => line.includes(words));
  const told = (words: string, sub = phone) =>
    waitUntil(`the phone reads "${words}"`, () => linesWith(words, sub).length > 0, {
      explain: () => sub.lines().join('\n'),
    });

  /** Test and dose of one evening; the level is what the invented corals left. */
  async function evening(day: number, usePerDay: number, timeMs: number): Promise<void> {
    const time = new Date(timeMs).toISOString();
    const value = Number((8 + (kitErrors[day % kitErrors.length] ?? 0)).toFixed(2));
    const entered = await postJson(`${room.hub.url}/api/tests`, {
      system: 'display',
      analyte: 'alkalinity',
      value,
      time,
      sd: 0.07,
      confirmed: true,
    });
    expect(entered.status).toBe(201);
    // What is used until tomorrow is given at once: the level is the same each evening.
    const dosed = await postJson(`${room.hub.url}/api/doses`, {
      system: 'display',
      stock: 'alk',
      ml: 42 * usePerDay,
      time,
    });
    expect(dosed.status).toBe(201);
  }

  beforeAll(async () => {
    broker = await startMosquitto();
    const systems = [
      {
        ...{ id: 'display', name: 'Display tank', volume_l: 420, stocks: [stock] },
        bands: { temperature: { low: 23, high: 28 }, alkalinity: { low: 7, high: 10 } },
      },
      { id: 'bucket', name: 'Dip bucket', volume_l: 4, bands: {} },
    ];
    room = await startArrivalRoom(startMs, { mqtt: { url: `mqtt://127.0.0.1:${broker.port}`, prefix }, systems });
    phone = await mosquittoSub(broker.port, `${prefix}/phone`, ['-c', '-i', 'phone']);
    second = await mosquittoSub(broker.port, `${prefix}/phone/escalated`, ['-c', '-i', 'second']);
    for (let day = -30; day < 0; day += 1) await evening(day + 30, 1, startMs + day * dayMs);
    room.measured('temperature', 27, startMs - 3 * dayMs, startMs + 1);
    room.measured('salinity', 35, startMs - hourMs, startMs + 1);
  }, 60_000 * patience());

  afterAll(async () => {
    await room?.stop();
    await phone?.stop();
    await second?.stop();
    await broker?.stop();
  });

  test('the water that is made ready does not cover baths, rinse and what the dip takes', async () => {
    // Six pieces of 5 cm with 1 cm around: 6 × 7³ cm³ = 2.058 L in one bath. Half from the tank: 1.029 L to replace.
    // As much to rinse, a tenth spare: (1.029 + 2.058) × 1.1 = 3.3957 L, at 38 g/L for 35: 129.04 g.
    const args = [
      '--pieces',
      '6x5',
      '--vessel',
      '5',
      '--grams-per-litre',
      '38',
      '--warm-from',
      '20',
      '--heater',
      '100',
    ];
    const water = await room.asked<PreparedAnswer>('arrival', 'prepare', '--system', 'display', ...args);
    expect(water).toMatchObject({ baths: 1, salinity: 35 });
    expect(water.bath_l).toBeCloseTo(2.058, 9);
    expect(water.tank_l + water.bag_l).toBeCloseTo(water.baths * water.bath_l, 9);
    expect(water.replace_l).toBeCloseTo(water.tank_l, 9);
    expect(water.fresh_l).toBeCloseTo(3.3957, 6);
    expect(water.fresh_l).toBeCloseTo(water.replace_l + water.rinse_l + water.spare_l, 9);
    expect(water.salt_g).toBeCloseTo(129.0366, 3);
  });

  test('a batch that does not match the tank is used all the same', async () => {
    const made = await room.asked<{ id: string }>(
      'batch',
      'make',
      '--system',
      'display',
      '--litres',
      '4',
      '--salt',
      'reef salt',
      '--grams',
      '152',
    );
    expect(made.id).toBe('b1');
    await room.asked('batch', 'measure', 'b1', '--temperature', '22', '--salinity', '35.1', '--alkalinity', '8.1');
    const cold = await room.verb('batch', 'match', 'b1');
    expect(cold.code).toBe(1);
    expect(cold.out).toContain('Warm it.');
    await room.asked('batch', 'measure', 'b1', '--temperature', '26.7');
    expect((await room.verb('batch', 'match', 'b1')).code).toBe(0);
  });

  test('the coming of the corals does not loosen what the demand estimate is sure of', async () => {
    const sdOf = async () =>
      (await getJson<{ demandSd: number; demandPerDay: number } & Explained>(
        `${room.hub.url}/api/estimates/display/alkalinity`,
      )) as unknown;
    const before = demandIn(await sdOf());
    const planned = await room.asked<ArrivalAnswer>(
      'arrival',
      'new',
      '--system',
      'display',
      '--name',
      'Six frags',
      '--kind',
      'acropora=6x5',
      '--pest',
      'acropora_flatworm',
    );
    expect(planned).toMatchObject({ id: 'a1', state: 'expected' });
    // Expected corals use nothing yet.
    expect(demandIn(await sdOf()).sd).toBeCloseTo(before.sd, 9);
    await room.asked('arrival', 'arrived', 'a1');
    const after = demandIn(await sdOf());
    // The filter allows a step of 0.3 of the demand (its own rule): variances add, and once.
    expect(after.perDay).toBeCloseTo(before.perDay, 6);
    expect(after.sd).toBeCloseTo(Math.hypot(before.sd, 0.3 * before.perDay), 4);
  });

  test('bags of thin, sour water are poured over without a word', async () => {
    const answer = await room.verb(
      'arrival',
      'shock',
      'a1',
      '--temperature',
      '23',
      '--salinity',
      '31',
      '--ph',
      '7.4',
      '--litres',
      '2',
    );
    expect(answer.out).toMatch(/Temperature would rise from 23.00 °C to 27.00 °C/);
    expect(answer.out).toMatch(/Salinity would rise from 31.00 to 35.00/);
    expect(answer.out).toContain('float 60 min');
    expect(answer.out).toMatch(/exchange \d/);
  });

  test('two baths at once: volumes do not add up, or a dose outside the label is poured', async () => {
    const start = (reagent: string, bath: string) =>
      room.asked<RunAnswer>(
        'arrival',
        'start',
        'a1',
        '--protocol',
        'dip_and_inspect',
        '--bath',
        bath,
        '--rinse',
        bath,
        '--reagent',
        reagent,
        '--bath-probes',
        'bucket',
        '--batch',
        'b1',
      );
    expect((await start('iodine=2:1-3', '4')).id).toBe('a1-1');
    expect((await start('iodine=5:1-3', '2')).id).toBe('a1-2');
    for (const run of ['a1-1', 'a1-2']) await room.asked('arrival', 'timer', run);
    room.clock.advance(60 * minuteMs);
    await told('Six frags (a1-1): the time is over: float the closed bags');
    await told('Six frags (a1-2): the time is over: float the closed bags');
    const one = await room.asked<RunAnswer>('arrival', 'done', 'a1-1');
    expect(one.bath).toMatchObject({
      tank_l: 2,
      bag_l: 2,
      replace_l: 2,
      rinse_l: 4,
      reagents: [{ name: 'iodine', volume_ml: 8 }],
      soak_minutes: 7,
    });
    expect(one.bath?.cautions.join(' ')).toContain('palytoxin');
    const two = await room.asked<RunAnswer>('arrival', 'done', 'a1-2');
    expect(two.bath?.reagents).toEqual([{ name: 'iodine', volume_ml: 10 }]);
    expect(two.bath?.cautions[0]).toContain("above the label's 1 to 3 mL/L");
  });

  test('the bath is three degrees colder and nobody is warned before the pieces go in', async () => {
    const nowMs = room.clock.nowMs();
    room.measured('temperature', 27, nowMs - 10 * minuteMs, nowMs);
    room.measured('salinity', 35, nowMs - 10 * minuteMs, nowMs);
    room.measured('temperature', 24, nowMs - 10 * minuteMs, nowMs, 'bucket');
    room.measured('salinity', 35, nowMs - 10 * minuteMs, nowMs, 'bucket');
    const soaking = await room.asked<RunAnswer>('arrival', 'done', 'a1-1');
    expect(soaking.words).toBe('soak in the dip bath');
    expect(soaking.bath_check?.warnings.join(' ')).toContain('24.00 °C to 27.00 °C');
    await told('not in yet, the bath would be a shock');
  });

  test('a soak ends and no phone rings, a restart loses it, or it rings twice', async () => {
    dipMs = room.clock.nowMs();
    await room.asked('arrival', 'timer', 'a1-1');
    room.clock.advance(6 * minuteMs);
    await told('the soak ends in a minute');
    await room.restart();
    room.clock.advance(minuteMs);
    await told('Six frags (a1-1): the soak is over');
    expect(linesWith('the soak is over')[0]).toContain('ACT NOW');
    await room.restart();
    room.clock.advance(3 * minuteMs);
    await told('ACT NOW, MAXIMUM REACHED');
    await told('ACT NOW, MAXIMUM REACHED', second);
    for (const words of ['the soak ends in a minute', 'the soak is over', 'MAXIMUM REACHED'])
      expect(linesWith(words)).toHaveLength(1);
    expect(second.lines()).toHaveLength(1);
  });

  test('an arrival is deleted while its pieces lie in the dip', async () => {
    const refused = await room.verb('arrival', 'delete', 'a1');
    expect(refused.code).toBe(1);
    expect(refused.err).toContain('Take them out, mark the soak done, then delete');
    room.clock.advance(minuteMs);
    await waitUntil('it still calls', () => linesWith('MAXIMUM REACHED').length === 2);
  });

  test('a keeper with wet hands cannot go on from the phone', async () => {
    await mosquittoPub(broker.port, `${prefix}/command`, 'arrival a1 done');
    await told('a1 has several checklists, name one: a1-1, a1-2');
    await mosquittoPub(broker.port, `${prefix}/command`, 'arrival a1-1 done');
    await told('a1-1: step 4 of 8, swirl and rinse off');
    await mosquittoPub(broker.port, `${prefix}/command`, 'arrival a1-1 next');
    await told('a1-1: step 5 of 8, rinse bath in new salt water (10 min: next starts the timer)');
    await mosquittoPub(broker.port, `${prefix}/command`, 'arrival a1-1 next');
    await told('a1-1: step 5 of 8, rinse bath in new salt water, 10 min left');
    await mosquittoPub(broker.port, `${prefix}/command`, 'arrival a1-1 done');
    await told('10 min of this step are left. To end it all the same: arrival a1-1 early');
    room.clock.advance(10 * minuteMs);
    await told('the time is over: rinse bath');
    for (const step of [6, 7]) {
      await mosquittoPub(broker.port, `${prefix}/command`, 'arrival a1-1 done');
      await told(`a1-1: step ${step} of 8`);
    }
    await mosquittoPub(broker.port, `${prefix}/command`, 'arrival a1-1 done two flatworms came off');
    await told('a1-1: step 8 of 8');
    await mosquittoPub(broker.port, `${prefix}/command`, 'arrival a1-1 done');
    await told('a1-1: all steps are done');
    // The other one did not soak: given up.
    expect((await room.verb('arrival', 'give-up', 'a1-2')).code).toBe(0);
    const arrival = await room.asked<ArrivalAnswer & { inspections: { findings: string }[]; dips: string[] }>(
      'arrival',
      'show',
      'a1',
    );
    expect(arrival.inspections.map(({ findings }) => findings)).toEqual(['two flatworms came off']);
    expect(arrival.dips.map(Date.parse)).toEqual([dipMs]);
  });

  test(
    'the second dip keeps its date although the tank has grown colder',
    async () => {
      const repeatDip = async () => {
        const { watch } = await room.asked<ArrivalAnswer>('arrival', 'show', 'a1');
        const task = watch?.tasks.find(({ kind, state }) => kind === 'dip' && state !== 'done');
        return {
          due: (Date.parse(task?.due ?? '') - dipMs) / dayMs,
          opens: (Date.parse(task?.opens ?? '') - dipMs) / dayMs,
          closes: (Date.parse(task?.closes ?? '') - dipMs) / dayMs,
        };
      };
      // Barton et al. 2019: 38 days at 27 °C, 11 of them as eggs. The window is 11 to 27 days after the dip, its middle 19.
      const warm = await repeatDip();
      expect(warm.opens).toBeCloseTo(11, 3);
      expect(warm.closes).toBeCloseTo(27, 3);
      expect(warm.due).toBeCloseTo(19, 3);
      await room.verb(
        'arrival',
        'light',
        'a1',
        '--par',
        '0=80',
        '--par',
        '60=320',
        '--full-hours',
        '8',
        '--ramp-up',
        '2',
        '--ramp-down',
        '2',
        '--target',
        '300',
        '--first-day',
        '2026-03-03',
      );
      const midnightMs = Math.ceil(dipMs / dayMs) * dayMs;
      room.measured('temperature', 27, startMs, midnightMs);
      // The heater fails slowly: from the next midnight on the tank holds 24 °C.
      for (let day = 1; day <= 14; day += 1) {
        const eveningMs = startMs + day * dayMs + 9 * hourMs;
        room.clock.advance(eveningMs - room.clock.nowMs());
        room.measured('temperature', 24, Math.max(eveningMs - dayMs, midnightMs), eveningMs);
        await told(`light day ${day} of 21`);
        await evening(day, 1.3, eveningMs);
      }
      // 64 days at 24 °C and 38 at 27 °C are the same sum: 4.3846 and 7.3846 degree-days a day above 19.6154 °C.
      const warmDays = (midnightMs - dipMs) / dayMs;
      const daysFor = (degreeDays: number) => warmDays + (degreeDays - warmDays * 7.384615) / 4.384615;
      const cold = await repeatDip();
      expect(cold.opens).toBeCloseTo(daysFor(11 * 7.384615), 2);
      expect(cold.closes).toBeCloseTo(daysFor(27 * 7.384615), 2);
      expect(cold.due).toBeGreaterThan(warm.due + 10);
      // An inspection a week after the dip was asked for.
      expect(linesWith('Inspection is due').length).toBeGreaterThan(0);
    },
    120_000 * patience(),
  );

  test('nobody asks for tests in the two weeks, or says what the batch added', async () => {
    expect(linesWith('test alkalinity today (day ').length).toBeGreaterThanOrEqual(12);
    const { demand } = await room.asked<{ demand: { added: { per_day: number; sd: number }; text: string } }>(
      'arrival',
      'show',
      'a1',
    );
    expect(Math.abs(demand.added.per_day - 0.3)).toBeLessThan(0.15);
    expect(Math.abs(demand.added.per_day - 0.3)).toBeLessThan(2 * demand.added.sd);
    expect(demand.added.sd).toBeLessThan(0.25);
    expect(demand.text).toMatch(/^This batch added about 0\.\d+ ± 0\.\d+ dKH a day/);
  });

  test(
    'the rack never reaches the light that was asked for, or does not wait when a piece is pale',
    async () => {
      const planned = await room.asked<ArrivalAnswer>('arrival', 'show', 'a1');
      const last = planned.light?.days.at(-1);
      // 80 to 320 over 60 cm: 300 stands at 60 × ln(300/80) / ln(320/80) = 57.2 cm; in whole centimetres 57, PAR 298.6.
      expect(last).toMatchObject({ day: 21, height_cm: 57 });
      expect(last?.par).toBeCloseTo(80 * 4 ** (57 / 60), 6);
      await mosquittoPub(broker.port, `${prefix}/command`, 'arrival a1 hold 2');
      const height = planned.light?.days[13]?.height_cm;
      await waitUntil(
        'the plan is longer',
        async () => (await room.asked<ArrivalAnswer>('arrival', 'show', 'a1')).light?.days.length === 23,
      );
      const held = (await room.asked<ArrivalAnswer>('arrival', 'show', 'a1')).light?.days ?? [];
      expect(held.slice(13, 16).map((day) => day.height_cm)).toEqual([height, height, height]);
      expect(held.at(-1)?.height_cm).toBe(57);
      for (let day = 15; day <= 23; day += 1) {
        room.clock.advance(startMs + day * dayMs + hourMs - room.clock.nowMs());
        await told(`light day ${day} of 23`);
      }
      expect(linesWith('light day 23 of 23')[0]).toContain('57 cm');
      // The report of the two weeks came by itself, once.
      expect(linesWith('This batch added about')).toHaveLength(1);
      room.clock.advance(dayMs);
      await told('Repeat dip');
      expect(linesWith('light day 24')).toEqual([]);
    },
    120_000 * patience(),
  );
});

/** Demand and its sd, wherever the answer keeps them. */
function demandIn(answer: unknown): { perDay: number; sd: number } {
  const text = JSON.stringify(answer);
  const perDay = Number(/"demandPerDay":([-\d.e]+)/.exec(text)?.[1]);
  const sd = Number(/"demandSd":([-\d.e]+)/.exec(text)?.[1]);
  expect(Number.isFinite(perDay) && Number.isFinite(sd)).toBe(true);
  return { perDay, sd };
}
