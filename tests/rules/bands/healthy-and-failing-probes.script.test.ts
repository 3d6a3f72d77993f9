import { expect, test } from 'vitest';
import { watchedRoomFromConfig } from '#hub/model/config/watched-room.ts';
import type { AlarmEvent } from '#rules/bands/alarm-event.ts';
import { emptyRoomState, rulesForRoom, stepRoom } from '#rules/bands/room.ts';
import { checkReading, defaultChecks, emptyStreamState } from '#rules/quality/stream-check.ts';
import type { Metric } from '#rules/quantity/metric.ts';
import { configOf, roomText } from '../../servers/hub-process.ts';

const startMs = Date.UTC(2026, 2, 1);
const hourMs = 3_600_000;

/** The same numbers in every run. */
function chance(seed: number): () => number {
  let state = seed;
  return () => {
    state = (Math.imul(state, 1_664_525) + 1_013_904_223) >>> 0;
    return state / 2 ** 32;
  };
}

/** What is told of a probe that says this, through checks and rules with their defaults. `valueAt` in the store unit, by hour. */
function told(metric: Metric, everyMs: number, days: number, valueAt: (hour: number) => number): AlarmEvent[] {
  const bands = { temperature: { low: 25, high: 26.5, most_per_hour: 0.5 }, ph: { low: 7.85, high: 8.45 } };
  const rules = rulesForRoom(
    watchedRoomFromConfig(
      configOf(
        roomText('/nowhere', {
          systems: [{ id: 'tank', name: 'Tank', volume_l: 400, bands }],
          probes: [{ id: 'p', system: 'tank', metric, mqtt: { topic: 'tank/p' } }],
        }),
      ),
    ),
  );
  const checks = emptyStreamState();
  const series = { system: 'tank', metric, probe: 'p' };
  const events: AlarmEvent[] = [];
  let state = emptyRoomState();
  for (let timeMs = startMs; timeMs < startMs + days * 24 * hourMs; timeMs += everyMs) {
    const quality = checkReading(defaultChecks(metric), checks, valueAt((timeMs - startMs) / hourMs), timeMs);
    for (const evidence of [{ is: 'reading', reading: { series, timeMs, quality } }, { is: 'time' }] as const) {
      const step = stepRoom(rules, state, evidence, timeMs);
      state = step.state;
      events.push(...step.events);
    }
  }
  return events;
}

const ofKind = (events: readonly AlarmEvent[], rule: string) =>
  events.filter((event) => event.rule === rule && event.state === 'raised');

/** A day's swing of 0.12 to 0.2, common practice for a reef tank, on a display of tenths. */
function healthyPh(random: () => number): (hour: number) => number {
  return (hour) => {
    const swing = (0.08 + 0.02 * Math.sin(hour / 70)) * Math.sin((hour / 24) * 2 * Math.PI);
    const value = 8.17 + swing + 0.03 * Math.sin(hour / 50) + (random() - 0.5) * 0.02;
    return Math.round(value * 10) / 10;
  };
}

test('a healthy pH on a display of tenths is called stuck or impossible, month after month', () => {
  const events = told('ph', 5 * 60_000, 30, healthyPh(chance(1)));
  expect(ofKind(events, 'impossible_value')).toEqual([]);
  // Until it has seen how coarse the display is, in the first hours, nobody can tell it from a stuck probe.
  expect(ofKind(events, 'flat_line').filter(({ timeMs }) => timeMs > startMs + 24 * hourMs)).toEqual([]);
});

test('a pH display of tenths that sticks is never told of', () => {
  const healthy = healthyPh(chance(1));
  const events = told('ph', 5 * 60_000, 20, (hour) => (hour < 10 * 24 ? healthy(hour) : 8.2));
  const stuck = ofKind(events, 'flat_line').filter(({ timeMs }) => timeMs > startMs + 24 * hourMs);
  expect(stuck).toHaveLength(1);
  expect((stuck[0]!.timeMs - startMs) / hourMs - 240).toBeLessThan(72);
});

test.each([
  [85, /the sensor restarts: its power or its cable has a loose contact/],
  [-127, /the sensor does not answer: its cable or its plug is loose or wet/],
])('a cable that costs one reading in ten (%s °C) is told of in no week', (failed, words) => {
  const random = chance(2);
  const events = told('temperature', 10_000, 7, (hour) =>
    random() < 0.1 ? failed : 25.6 + 0.1 * Math.sin(hour / 4) + (random() - 0.5) * 0.02,
  );
  expect(events.map(({ alarm, state }) => `${state} ${alarm}`)).toEqual([
    'raised tank/temperature/impossible_value/often',
  ]);
  expect(events[0]!.message).toMatch(words);
  // Within half a day, and not of the water.
  expect(events[0]!.timeMs - startMs).toBeLessThan(12 * hourMs);
});

test('one reading in a thousand that fails is an alarm', () => {
  const random = chance(3);
  const events = told('temperature', 10_000, 7, (hour) =>
    random() < 0.001 ? 85 : 25.6 + 0.1 * Math.sin(hour / 4) + (random() - 0.5) * 0.02,
  );
  expect(events).toEqual([]);
});

test('a heater relay that swings every five hours raises the same alarm for days, and none says that it comes again', () => {
  const random = chance(4);
  const events = told('temperature', 30_000, 6, (hour) => {
    const part = (hour % 5) / 5;
    return 25.75 + (part < 0.2 ? 6 * part - 0.6 : 0.9 - 1.5 * part) + (random() - 0.5) * 0.02;
  });
  const raised = ofKind(events, 'rate');
  expect(raised).toHaveLength(2);
  expect(raised.at(-1)!.message).toMatch(/It comes and goes: 2 times in 5 h\. Look for one cause\./);
  // It is one alarm from then on, and stands while the relay swings.
  expect(events.at(-1)).toMatchObject({ state: 'raised', rule: 'rate' });
});
