import { afterEach, beforeEach, expect, test } from 'vitest';
import { dayMs, openPaperRoom, type PaperRoom } from './paper-room.ts';

let room: PaperRoom;
beforeEach(() => {
  room = openPaperRoom();
});
afterEach(() => room.close());

const alkalinity = (value: number, more: Record<string, unknown> = {}) =>
  room.entries.test({ system: 'display', analyte: 'alkalinity', value, sd: 0.1, ...more }, room.now());
const raised = (rule: string) => room.events.filter((event) => event.rule === rule && event.state === 'raised');
/** The plan meets the demand: every test says 8.0, give or take what a kit does. */
const steady = (days: number): void => {
  for (let day = 0; day < days; day += 1) {
    alkalinity([8, 8.05, 7.95, 8.02, 7.98][day % 5]!);
    room.waitDays(1);
  }
};

test('a blocked dosing line goes unnoticed although the tests show it', () => {
  steady(14);
  expect(room.estimator.estimate('display', 'alkalinity')?.demandPerDay).toBeCloseTo(0.66, 1);
  expect(raised('dosed_not_moved')).toEqual([]);
  // From here nothing arrives: the water falls by its demand, as if the plan were not there.
  for (let day = 1; day <= 3; day += 1) {
    alkalinity(8 - 0.66 * day, { confirmed: true });
    room.waitDays(1);
  }
  const [alarm] = raised('dosed_not_moved');
  expect(alarm?.metric).toBe('alkalinity');
  expect(alarm?.message.length).toBeGreaterThan(20);
});

test('advice asks for more of what the alarm says does not arrive', () => {
  steady(14);
  const advice = () => room.estimator.advice('display').find(({ analyte }) => analyte === 'alkalinity')!.advice;
  expect(advice().holdBacks).toEqual([]);
  // A solution that is spent by three quarters: 0.17 of the 0.66 a day arrives.
  for (let day = 1; day <= 4; day += 1) {
    alkalinity(8 - 0.5 * day, { confirmed: true });
    room.waitDays(1);
    if (raised('dosed_not_moved').length === 0) continue;
    expect(advice()).toMatchObject({ kind: 'hold_back', plan: [], today: [] });
  }
  expect(raised('dosed_not_moved')).toHaveLength(1);
  const rules = advice().holdBacks.map(({ rule }) => rule);
  expect(rules.some((rule) => rule === 'doses_not_seen' || rule === 'plan_may_not_arrive')).toBe(true);
});

test('a plan that does arrive is called blocked', () => {
  steady(25);
  expect(raised('dosed_not_moved')).toEqual([]);
});

test.each([
  ['mg/L CaCO3 typed as dKH', 143, 'mg/L CaCO3', '8.01 dKH'],
  ['meq/L typed as dKH', 2.86, 'meq/L', '8.02 dKH'],
  ['a decimal point left out', 80, 'decimal point', '8 dKH'],
])('%s is swallowed', (_what, typed, unit, meant) => {
  steady(5);
  const before = room.store.journal({ kind: 'test' }).length;
  expect(() => alkalinity(typed)).toThrow(unit);
  expect(() => alkalinity(typed)).toThrow(`Did you mean ${meant}`);
  expect(room.store.journal({ kind: 'test' })).toHaveLength(before);
});

test('an arrival does not make the demand less sure', () => {
  steady(20);
  const before = room.estimator.estimate('display', 'alkalinity')!;
  room.commit('arrival', room.now(), { pieces: 12 });
  const after = room.estimator.estimate('display', 'alkalinity')!;
  expect(after.demandSd).toBeGreaterThan(2 * before.demandSd);
  expect(after.level).toBeCloseTo(before.level, 6);
});

test('a container runs empty without a word', () => {
  room.entries.refill({ system: 'display', stock: 'soda' }, room.now());
  steady(10);
  // By hand: 5000 mL less 10 days of 100 mL, at 100 mL a day: 40 days.
  const [soda] = room.estimator.containers('display');
  expect(soda?.leftMl).toBeCloseTo(4000, 6);
  expect(soda?.daysLeft).toBeCloseTo(40, 6);
  expect(raised('container_low')).toEqual([]);
  steady(37);
  expect(
    raised('container_low')
      .map(({ message }) => message)
      .join(),
  ).toContain('Soda solution');
});

test('the journal fills with advice that says the same each hour', () => {
  steady(12);
  const kept = () =>
    room.store.journal({ kind: 'advice' }).filter(({ body }) => body['analyte'] === 'alkalinity').length;
  const before = kept();
  room.waitDays(2, 1);
  expect(kept() - before).toBeLessThanOrEqual(1);
});

test('salinity has no advice beside the others', () => {
  room.entries.test({ system: 'display', analyte: 'salinity', value: 37.4, sd: 0.2 }, room.now());
  const advice = room.estimator.advice('display').find(({ analyte }) => analyte === 'salinity')?.advice;
  // By hand: 400 L x 0.5 / 37.4 = 5.35 L, by jug 5.3 L.
  expect(advice?.water).toMatchObject({ do: 'exchange_for_fresh', newSalinity: 0 });
  expect(advice?.water?.litresOnDay[0]).toBe(5.3);
  // The plan's 5 g of soda ash a day leave sodium: 2 x 22.990 g for each 105.988 g, 2.169 g in 400 L x 1.0233 kg/L, 0.0053 g/kg.
  expect(advice?.working.join(' ')).toContain('The salts dosed add 0.005 a day.');
});

test('a salinity that rises day by day is answered with water and not with the top-off', () => {
  const series = { system: 'display', metric: 'salinity', probe: 'sal' } as const;
  for (let minute = -1440; minute <= 0; minute += 5) {
    const value = 36.8 + (0.4 * minute) / 1440 + 0.02 * Math.sin(minute);
    room.store.add([{ series, timeMs: room.now() + minute * 60_000, quality: { flag: 'pass', value } }]);
  }
  room.estimator.refresh('display');
  const advice = room.estimator.advice('display').find(({ analyte }) => analyte === 'salinity')?.advice;
  expect(advice?.holdBacks.map(({ rule }) => rule)).toEqual(['evaporation_or_top_off_fault']);
  // By hand: 400 L x 0.4 / 36.8 = 4.3 L a day.
  expect(advice?.reason).toContain('4.3 L a day');
});

test('each estimate hides how it came about', () => {
  steady(6);
  const explanation = room.estimator.explain('display', 'alkalinity')!;
  expect(explanation.tests).toHaveLength(6);
  expect(explanation.tests.at(-1)!.dosedBefore).toBeCloseTo(0.66, 2);
  expect(explanation.tests.at(-1)!.words).toContain('tested 8');
  expect(explanation.estimate).toEqual(room.estimator.estimate('display', 'alkalinity'));
  expect(explanation.forecast!.points.at(-1)!.timeMs - room.now()).toBeCloseTo(7 * dayMs, -3);
});

test('"no probe has said anything for hours" stands beside fresh readings for an hour', () => {
  const salinity = (): string | undefined =>
    room.estimator.advice('display').find(({ analyte }) => analyte === 'salinity')?.advice.holdBacks[0]?.rule;
  const minutes = (count: number, isHeard: boolean): void => {
    for (let minute = 0; minute < count; minute += 1) {
      room.pass(1);
      const series = { system: 'display', metric: 'salinity', probe: 'sal' } as const;
      const quality = { flag: 'pass', value: 35 + 0.01 * Math.sin(minute) } as const;
      if (isHeard) room.store.add([{ series, timeMs: room.now(), quality }]);
      if (room.estimator.isOutdated('display')) room.estimator.refresh('display');
    }
  };
  room.estimator.refresh('display');
  expect(salinity()).toBe('no_salinity');
  minutes(15, true);
  expect(salinity()).not.toBe('no_salinity');
  minutes(26 * 60, false);
  expect(salinity()).toBe('no_salinity');
});

test('advice is worked out each minute although the probes say the same', () => {
  let refreshes = 0;
  for (let minute = 0; minute < 120; minute += 1) {
    room.pass(1);
    const series = { system: 'display', metric: 'salinity', probe: 'sal' } as const;
    room.store.add([{ series, timeMs: room.now(), quality: { flag: 'pass', value: 35 } }]);
    if (!room.estimator.isOutdated('display')) continue;
    refreshes += 1;
    room.estimator.refresh('display');
  }
  // The first ten minutes each, then not again.
  expect(refreshes).toBeLessThan(15);
});

test.each([8.1, 7.3])('a fresh hub with one test at %s cries that the level leaves its band', (value) => {
  alkalinity(value);
  room.waitDays(3, 1);
  expect(raised('drift')).toEqual([]);
  // From the second test on the demand is that of the tests: 1.4 dKH a day in this water, of which the plan gives 0.66.
  for (let day = 1; day <= 3; day += 1) {
    alkalinity(value - 0.74 * (3 + day), { confirmed: true });
    room.waitDays(1);
  }
  expect(raised('drift').length).toBeGreaterThan(0);
});
