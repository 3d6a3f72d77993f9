import { expect, test } from 'vitest';
import { alarmsOf } from '#rules/bands/room.ts';
import { mondayMs } from './script.ts';
import { StepTank } from './step-tank.ts';

/** What comes and goes for one cause; windows and margins are common practice, no published source. Minutes from a Monday. */

const hour = 60;
const [well, warm] = [25.7, 26.8];
const high = 'temperature/out_of_band/high';

/** Good water until `to`, with a warm half hour that begins at each of these minutes. */
function swinging(starts: readonly number[], to: number, out = warm, tank = new StepTank()): StepTank {
  let minute = (tank.state.nowMs ?? mondayMs) > mondayMs ? (tank.state.nowMs! - mondayMs) / 60_000 : 0;
  minute = Math.ceil(minute);
  for (; minute <= to; minute += 1) {
    const isOut = starts.some((start) => minute >= start && minute < start + 30);
    tank.readFrom(minute, minute, isOut ? out : well);
  }
  return tank;
}

const told = (tank: StepTank) => tank.events.map(({ state, alarm }) => `${state} ${alarm.replace('tank/', '')}`);
const listed = (tank: StepTank) => alarmsOf(tank.rules, tank.state, tank.state.nowMs!);
const everyFiveHours = (count: number) => Array.from({ length: count }, (_, n) => hour + n * 5 * hour);

test('six days of a relay that swings each five hours ring more than twice, or end while it swings', () => {
  const tank = swinging(everyFiveHours(29), 6 * 24 * hour);
  expect(told(tank)).toEqual([`raised ${high}`, `cleared ${high}`, `raised ${high}`]);
  expect(tank.events.at(-1)!.message).toMatch(
    /It comes and goes: 2 times in 5 h\. Look for one cause\. You will hear again only if it gets worse\.$/,
  );
});

test('the page calls water bad that is good at this moment', () => {
  const tank = swinging(everyFiveHours(3), 13 * hour);
  const [alarm] = listed(tank);
  expect(alarm).toMatchObject({ state: 'unacknowledged', isStanding: true, isChattering: true });
  expect(alarm!.message).toMatch(
    /^Temperature is back in the band: 25\.7. °C\. It comes and goes: 3 times in 12 h\. This alarm ends if it stays away for another 4 h\.$/,
  );
  // While it is out the page says that.
  const [out] = listed(swinging(everyFiveHours(3), 11 * hour + 20));
  expect(out!.message).toMatch(/^Temperature is 26\.8. °C, above the band .*It comes and goes: 3 times in 10 h\./);
});

test('what has stopped coming stands for longer than a period and a quarter', () => {
  const tank = swinging(everyFiveHours(2), 48 * hour);
  expect(told(tank)).toEqual([`raised ${high}`, `cleared ${high}`, `raised ${high}`, `cleared ${high}`]);
  const [second, end] = tank.events.slice(-2);
  const hours = (end!.timeMs - second!.timeMs) / 3_600_000;
  expect(hours).toBeGreaterThanOrEqual(6.25);
  expect(hours).toBeLessThan(6.3);
  expect(end!.message).toMatch(
    /^Temperature is back in the band: 25\.7. °C\. It came and went 2 times, and has stayed/,
  );
  expect(listed(tank).filter(({ isStanding }) => isStanding)).toEqual([]);
  // And the next one, days later, is news.
  swinging([60 * hour], 61 * hour, warm, tank);
  expect(told(tank).slice(4)).toEqual([`raised ${high}`, `cleared ${high}`]);
});

test.each([
  ['half a degree further out', { from: 16, minutes: 30, value: warm + 0.5, after: 6 }],
  ['three times as long', { from: 16, minutes: 90, value: warm, after: 50 }],
  ['further out by less and less time between', { from: 13, minutes: 30, value: warm + 0.5, after: 6 }],
])('the real failure after the pattern is taken for one more: %s', (_name, { from, minutes, value, after }) => {
  const tank = swinging(everyFiveHours(3), from * hour - 1);
  const before = tank.events.length;
  for (let minute = from * hour; minute < from * hour + minutes; minute += 1) tank.readFrom(minute, minute, value);
  const news = tank.events.slice(before);
  expect(news.map(({ state, alarm }) => `${state} ${alarm}`)).toEqual([`reraised tank/${high}`]);
  expect((news[0]!.timeMs - mondayMs) / 60_000 - from * hour).toBeLessThanOrEqual(after);
  expect(news[0]!.message).toMatch(/It comes and goes: 4 times in 1\d h, and this time it is worse\.$/);
});

test('one that was worse is taken as the measure before it was told', () => {
  const tank = swinging(everyFiveHours(3), 15 * hour);
  tank.command(15 * hour, { do: 'shelve', alarm: `tank/${high}`, untilMs: mondayMs + 17 * hour * 60_000, by: 'Ana' });
  const before = tank.events.length;
  swinging([16 * hour], 16.9 * hour, warm + 0.5, tank);
  swinging([17.5 * hour], 18.5 * hour, warm + 0.5, tank);
  expect(
    told(tank)
      .slice(before)
      .filter((each) => each.startsWith('reraised')),
  ).toHaveLength(1);
});

test('the other side, or a failure between two swings, is hidden by an alarm that waits', () => {
  const tank = swinging(everyFiveHours(3), 13 * hour);
  const before = tank.events.length;
  tank.readFrom(13 * hour + 1, 14 * hour, 24.2);
  expect(told(tank).slice(before)).toEqual(['raised temperature/out_of_band/low']);
  // Nor is another kind on the same stream.
  const fast = new StepTank({ bands: { temperature: { low: 20, high: 26.5, mostPerHour: 1.5 } } });
  swinging(everyFiveHours(3), 13 * hour, warm, fast);
  const seen = fast.events.length;
  fast.readFrom(13 * hour + 1, 13.5 * hour, 24);
  expect(told(fast).slice(seen)).toEqual(['raised temperature/rate']);
});

test('a rise that came twice hides the first fall', () => {
  const tank = new StepTank({ bands: { temperature: { low: 20, high: 30, mostPerHour: 0.5 } } });
  const ramp = (from: number, by: number, start: number) => {
    for (let n = 0; n < 50; n += 1) tank.readFrom(from + n, from + n, start + (by * n) / 50);
    tank.readFrom(from + 50, from + 3 * hour, start + by);
  };
  ramp(0, 0.8, 25);
  ramp(3 * hour + 1, 0.8, 25.8);
  expect(told(tank).filter((each) => each.startsWith('raised'))).toHaveLength(2);
  const before = tank.events.length;
  ramp(6 * hour + 2, -0.8, 26.6);
  expect(told(tank).slice(before)).toEqual(['reraised temperature/rate']);
});

test('a probe that falls silent ends an alarm that waits', () => {
  const tank = swinging(everyFiveHours(2), 8 * hour);
  for (let minute = 8 * hour + 1; minute < 30 * hour; minute += 1) tank.tick(minute);
  expect(told(tank).slice(3)).toEqual(['raised temperature/silent_probe']);
  const ends = tank.readFrom(30 * hour, 30 * hour + 20, well);
  expect(ends).toContain(`cleared ${high}`);
});

test('two that lie further apart than eight hours are called one', () => {
  const apart = swinging([hour, 9.1 * hour], 11 * hour);
  expect(told(apart)).toEqual([`raised ${high}`, `cleared ${high}`, `raised ${high}`, `cleared ${high}`]);
});

test('a test by hand that finds the water out again is not told', () => {
  const tank = new StepTank({ bands: { alkalinity: { low: 7.5, high: 9 } } });
  for (const [n, value] of [9.5, 8, 9.5, 8, 9.5, 8].entries()) {
    const timeMs = mondayMs + n * hour * 60_000;
    tank.offer(n * hour, { is: 'test', system: 'tank', analyte: 'alkalinity', value, timeMs });
  }
  const states = tank.events.filter(({ rule }) => rule === 'out_of_band').map(({ state }) => state);
  expect(states).toEqual(['raised', 'cleared', 'raised', 'cleared', 'raised', 'cleared']);
});
