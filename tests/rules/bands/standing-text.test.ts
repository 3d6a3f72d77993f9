import { expect, test } from 'vitest';
import type { Evidence } from '#rules/bands/evidence.ts';
import { alarmsOf, emptyRoomState, rulesForRoom, stepRoom } from '#rules/bands/room.ts';
import type { StandingAlarm } from '#rules/bands/standing-alarms.ts';
import { hourMs, mondayMs } from './script.ts';

const rules = rulesForRoom({
  systems: [
    {
      ...{ id: 'tank', name: 'Tank', volumeL: 400, testEveryDays: {} },
      bands: { alkalinity: { low: 7.5, high: 9 }, temperature: { low: 25, high: 26.5 } },
      probes: [{ id: 'glass', metric: 'temperature', everyMs: 60_000 }],
    },
  ],
  overrides: [],
});

/** What stands after the evidence, by hour, and how many events were told. */
function after(evidence: readonly [hour: number, what: Evidence][]): { standing: StandingAlarm[]; events: string[] } {
  let state = emptyRoomState();
  let nowMs = mondayMs;
  const events: string[] = [];
  for (const [hour, what] of evidence) {
    nowMs = mondayMs + hour * hourMs;
    const step = stepRoom(rules, state, what, nowMs);
    state = step.state;
    events.push(...step.events.map((event) => `${event.alarm} ${event.state}`));
  }
  return { standing: alarmsOf(rules, state, nowMs).filter(({ isStanding }) => isStanding), events };
}

const tested = (hour: number, value: number): [number, Evidence] => [
  hour,
  { is: 'test', system: 'tank', analyte: 'alkalinity', value, timeMs: mondayMs + hour * hourMs },
];
const forecast = (hour: number, hoursToLeave: number, probability: number): [number, Evidence] => [
  hour,
  { is: 'forecast', system: 'tank', metric: 'alkalinity', hoursToLeave, probability, side: 'low' },
];

test('an alarm by a test goes on saying the value that raised it', () => {
  const { standing, events } = after([tested(0, 9.31), tested(24, 9.64)]);
  const [alarm] = standing.filter(({ rule }) => rule === 'out_of_band');
  expect(alarm).toMatchObject({ value: 9.64, sinceMs: mondayMs });
  expect(alarm?.message).toContain('9.64 dKH');
  expect(alarm?.message).not.toContain('9.31');
  // The text is new, the alarm is not: nobody is told twice.
  expect(events).toEqual(['tank/alkalinity/out_of_band/high/test raised']);
});

test('a forecast goes on saying the hours of yesterday', () => {
  const early = after([forecast(0, 40, 0.85), forecast(2, 38, 0.85)]).standing[0]?.message;
  const late = after([forecast(0, 40, 0.85), forecast(2, 38, 0.85), forecast(20, 20, 0.93)]).standing[0]?.message;
  expect(early).toMatch(/in 38 h.*85 in 100/);
  expect(late).toMatch(/in 20 h.*93 in 100/);
});

test('an alarm of a probe says the value that raised it hours ago', () => {
  const reading = (minute: number, value: number): [number, Evidence] => {
    const timeMs = mondayMs + minute * 60_000;
    const series = { system: 'tank', metric: 'temperature', probe: 'glass' } as const;
    return [minute / 60, { is: 'reading', reading: { series, timeMs, quality: { flag: 'pass', value } } }];
  };
  const warming = Array.from({ length: 240 }, (_, minute) => reading(minute, 26.8 + minute / 200));
  const [alarm] = after(warming).standing.filter(({ rule }) => rule === 'out_of_band');
  expect(alarm?.message).toMatch(/27\.9|28\.0/);
  expect(alarm?.message).not.toContain('26.8');
});

const warmth = (minute: number, value: number): [number, Evidence] => {
  const timeMs = mondayMs + minute * 60_000;
  const series = { system: 'tank', metric: 'temperature', probe: 'glass' } as const;
  return [minute / 60, { is: 'reading', reading: { series, timeMs, quality: { flag: 'pass', value } } }];
};

test('of two alarms on one probe one says the value of now, and the other that of two hours ago', () => {
  // It falls by 1.2 °C an hour, out of its band after half an hour.
  const falling = Array.from({ length: 160 }, (_, minute) => warmth(minute, 25.9 - Math.max(0, minute - 20) / 50));
  const { standing } = after(falling);
  const [below, fell] = ['out_of_band', 'rate'].map((rule) => standing.find((alarm) => alarm.rule === rule)?.message);
  expect(below).toContain('Temperature is 23.12 °C, below the band');
  expect(fell).toMatch(/fell by 1\.\d+ °C within the last hour.*; it is 23\.12 °C now/);
});

test('a value that is back inside is said to be outside, while its alarm waits for it to stay there', () => {
  const back = Array.from({ length: 64 }, (_, minute) => warmth(minute, minute < 60 ? 27 : 26.45));
  const [alarm] = after(back).standing.filter(({ rule }) => rule === 'out_of_band');
  expect(alarm?.message).toMatch(/^Temperature is 26\.45 °C, just back inside the band 25 to 26\.5 °C\./);
});
