import { describe, expect, test } from 'vitest';
import type { Evidence } from '#rules/bands/evidence.ts';
import { calciumPerAlkalinity_mgL_per_dKH } from '#rules/bands/kinds/calcium-alkalinity-out-of-step.ts';
import { emptyRoomState, type RoomState, rulesForRoom, stepRoom } from '#rules/bands/room.ts';
import type { Metric } from '#rules/quantity/metric.ts';
import { dayMs, hourMs, mondayMs } from './script.ts';

const rules = rulesForRoom({
  systems: [
    {
      id: 'tank',
      name: 'Tank',
      volumeL: 400,
      bands: {
        alkalinity: { low: 7.5, high: 9 },
        calcium: { low: 400, high: 460 },
        ph: { low: 7.9, high: 8.4, mostPerHour: 5 },
      },
      probes: [{ id: 'glass', metric: 'ph', everyMs: hourMs }],
      testEveryDays: { alkalinity: 4 },
    },
  ],
  overrides: [],
});

/** Evidence by day from the start; ticks every five minutes between; gives `day state rule` of each event. */
function told(evidence: [day: number, what: Evidence][], days: number): { lines: string[]; messages: string[] } {
  let state: RoomState = emptyRoomState();
  const lines: string[] = [];
  const messages: string[] = [];
  const offer = (what: Evidence, nowMs: number): void => {
    const result = stepRoom(rules, state, what, nowMs);
    state = result.state;
    // Stored and restored once an hour and after all that is not only time.
    if (what.is !== 'time' || nowMs % hourMs === 0) state = JSON.parse(JSON.stringify(state)) as RoomState;
    for (const event of result.events) {
      // The pH probe of this tank never speaks: that is another test's matter.
      if (event.rule === 'silent_probe') continue;
      lines.push(
        `${((event.timeMs - mondayMs) / dayMs).toFixed(1)} ${event.state} ${event.alarm.replace('tank/', '')}`,
      );
      messages.push(event.message);
    }
  };
  const waiting = [...evidence].sort(([a], [b]) => a - b);
  for (let nowMs = mondayMs; nowMs <= mondayMs + days * dayMs; nowMs += 5 * 60_000) {
    while (waiting.length > 0 && mondayMs + waiting[0]![0] * dayMs <= nowMs) offer(waiting.shift()![1], nowMs);
    offer({ is: 'time' }, nowMs);
  }
  return { lines, messages };
}

const testOf = (day: number, value: number, analyte: Metric = 'alkalinity'): [number, Evidence] => [
  day,
  { is: 'test', system: 'tank', analyte, value, timeMs: mondayMs + day * dayMs },
];
const demandOf = (day: number, demandPerDay: number, sd = 0.05, analyte: Metric = 'alkalinity'): [number, Evidence] => [
  day,
  { is: 'demand', system: 'tank', analyte, demandPerDay, sd },
];

test('a test outside the band waits, or the next good one does not clear it', () => {
  const { lines, messages } = told([testOf(0, 8.2), testOf(1, 7.1), testOf(2, 7.4), testOf(3, 7.6)], 3);
  expect(lines).toEqual(['1.0 raised alkalinity/out_of_band/low/test', '3.0 cleared alkalinity/out_of_band/low/test']);
  expect(messages[0]).toMatch(/^Alkalinity was 7\.10 dKH at the last test, below the band 7\.5 to 9 dKH\. Test again/);
});

test('an old test that is entered late moves an alarm about now', () => {
  const late: [number, Evidence] = [
    2,
    { is: 'test', system: 'tank', analyte: 'alkalinity', value: 6, timeMs: mondayMs },
  ];
  expect(told([testOf(1, 8.2), late], 2).lines).toEqual([]);
});

test('an analyte that shall be tested is forgotten, or one that nobody tests is asked for', () => {
  const { lines } = told([testOf(1, 8), testOf(8, 8)], 9);
  expect(lines).toEqual(['5.0 raised alkalinity/test_overdue', '8.0 cleared alkalinity/test_overdue']);
});

test('a demand that grew by half goes unsaid, or its noise does not', () => {
  const steady = Array.from({ length: 10 }, (_, day) => demandOf(day, 1 + 0.1 * Math.sin(day)));
  const tests = Array.from({ length: 15 }, (_, day) => testOf(day, 8));
  expect(told([...tests, ...steady], 12).lines).toEqual([]);
  expect(told([...tests, ...steady, demandOf(11, 1.6)], 12).lines).toEqual(['11.0 raised alkalinity/demand_changed']);
  expect(told([...tests, ...steady, demandOf(11, 1.6, 0.4)], 12).lines).toEqual([]);
});

test('calcium and alkalinity part from calcium carbonate and nobody hears', () => {
  // 100.09 g of calcium carbonate are one mole of calcium (40.08 g) and two equivalents of alkalinity (5.608 dKH L each).
  expect(calciumPerAlkalinity_mgL_per_dKH).toBeCloseTo(40.078 / (2 * 2.8039), 2);
  const inStep = [demandOf(0, 1), demandOf(0.1, 7.1, 0.5, 'calcium')];
  expect(told([testOf(0, 8), ...inStep], 1).lines).toEqual([]);
  const apart = [demandOf(0, 1), demandOf(0.1, 13, 0.5, 'calcium')];
  expect(told([testOf(0, 8), ...apart], 1).lines).toEqual(['0.1 raised calcium/calcium_alkalinity_out_of_step']);
  const unsure = [demandOf(0, 1), demandOf(0.1, 13, 4, 'calcium')];
  expect(told([testOf(0, 8), ...unsure], 1).lines).toEqual([]);
});

describe('doses', () => {
  const usual = Array.from({ length: 8 }, (_, day) => demandOf(day, 0.5));
  const tests = Array.from({ length: 9 }, (_, day) => testOf(day, 8));
  const dose = (day: number): [number, Evidence] => [
    day,
    { is: 'dose', system: 'tank', analyteRaised: 'alkalinity', raisesBy: 1.5, timeMs: mondayMs + day * dayMs },
  ];

  test('that never reached the water go unsaid', () => {
    const { lines } = told([...tests, ...usual, dose(8.2), testOf(9, 7.6)], 9.5);
    expect(lines).toEqual(['9.0 raised alkalinity/dosed_not_moved']);
  });

  test('that did reach the water are doubted', () => {
    expect(told([...tests, ...usual, dose(8.2), testOf(9, 8.9)], 9.5).lines).toEqual([]);
  });
});

test('an unsure forecast is an alarm, or a sure one is none', () => {
  const forecast = (day: number, hoursToLeave: number, probability: number): [number, Evidence] => [
    day,
    { is: 'forecast', system: 'tank', metric: 'alkalinity', hoursToLeave, probability, side: 'low' },
  ];
  expect(told([testOf(0, 8), forecast(0.5, 30, 0.5), forecast(1, 90, 0.95)], 2).lines).toEqual([]);
  const { lines, messages } = told(
    [testOf(0, 8), forecast(1, 30, 0.9), forecast(1.5, 40, 0.7), forecast(2, 200, 0.9)],
    3,
  );
  expect(lines).toEqual(['1.0 raised alkalinity/drift/forecast', '2.0 cleared alkalinity/drift/forecast']);
  expect(messages[0]).toContain('Alkalinity is likely to be below its band of 7.5 to 9 dKH within 30 h (90 in 100)');
});

test.each([
  [0, 0.999, 'Alkalinity is likely to be below its band of 7.5 to 9 dKH by now (more than 99 in 100).'],
  [0.2, 0.93, 'Alkalinity is likely to be below its band of 7.5 to 9 dKH by now (93 in 100).'],
  [1.4, 0.93, 'Alkalinity is likely to be below its band of 7.5 to 9 dKH within 84 min (93 in 100).'],
  [47, 0.86, 'Alkalinity is likely to be below its band of 7.5 to 9 dKH within 47 h (86 in 100).'],
])('a forecast of %s h reads as no person would say it', (hoursToLeave, probability, sentence) => {
  const evidence: Evidence = {
    is: 'forecast',
    system: 'tank',
    metric: 'alkalinity',
    hoursToLeave,
    probability,
    side: 'low',
  };
  const { messages } = told([testOf(0, 8), [1, evidence]], 3);
  expect(messages[0]).toBe(`${sentence} Test it, then see today's advice.`);
});

test('a container runs out unsaid', () => {
  const container = (day: number, daysLeft: number): [number, Evidence] => [
    day,
    { is: 'container', system: 'tank', stock: 'soda', daysLeft },
  ];
  const { lines } = told([testOf(0, 8), container(0, 9), container(1, 4), container(2, 6), container(3, 60)], 3.5);
  expect(lines).toEqual(['1.0 raised room/container_low/soda', '3.0 cleared room/container_low/soda']);
});

test('a probe that was calibrated once is never due again', () => {
  const tests = Array.from({ length: 12 }, (_, i) => testOf(i * 3, 8));
  const calibration = (day: number): [number, Evidence] => [
    day,
    { is: 'calibration', probe: 'glass', timeMs: mondayMs + day * dayMs },
  ];
  const { lines } = told([...tests, calibration(0), calibration(32)], 33);
  expect(lines).toEqual(['30.0 raised ph/calibration_overdue/glass', '32.0 cleared ph/calibration_overdue/glass']);
});

test('a low pH calls for a dose although the alkalinity is in its band', () => {
  let state = emptyRoomState();
  const messages: string[] = [];
  const offer = (what: Evidence, nowMs: number): void => {
    const result = stepRoom(rules, state, what, nowMs);
    state = result.state;
    messages.push(...result.events.filter(({ rule }) => rule === 'out_of_band').map(({ message }) => message));
  };
  offer(testOf(0, 8.2)[1], mondayMs);
  for (let minute = 1; minute < 60; minute += 1) {
    const nowMs = mondayMs + minute * 60_000;
    const series = { system: 'tank', metric: 'ph' as const, probe: 'glass' };
    offer({ is: 'reading', reading: { series, timeMs: nowMs, quality: { flag: 'pass', value: 7.8 } } }, nowMs);
  }
  expect(messages).toHaveLength(1);
  expect(messages[0]).toContain('room air is the likely cause, so open a window and do not dose for it');
});
