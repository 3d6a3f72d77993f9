import { expect, test } from 'vitest';
import type { AlarmEvent } from '#rules/bands/alarm-event.ts';
import { alarmFigures } from '#rules/bands/alarm-figures.ts';
import { dayMs, hourMs, mondayMs } from './script.ts';

function event(hour: number, alarm: string, state: AlarmEvent['state']): AlarmEvent {
  return {
    timeMs: mondayMs + hour * hourMs,
    alarm,
    occurrence: 1,
    state,
    system: 'tank',
    metric: 'ph',
    rule: 'out_of_band',
    priority: 'low',
    message: '',
  };
}

test('a quiet period has figures other than nought', () => {
  expect(alarmFigures([], mondayMs, mondayMs + dayMs)).toEqual({
    days: 1,
    raised: 0,
    raisedPerDay: 0,
    timeInAlarm: 0,
    chattering: [],
    mostFrequent: [],
  });
});

test('two alarms at once count twice as time in alarm', () => {
  const events = [event(2, 'a', 'raised'), event(4, 'b', 'raised'), event(6, 'a', 'cleared'), event(8, 'b', 'cleared')];
  const figures = alarmFigures(events, mondayMs, mondayMs + 2 * dayMs);
  expect(figures.timeInAlarm).toBeCloseTo(6 / 48, 12);
  expect(figures.raisedPerDay).toBe(1);
  expect(figures.longestStanding).toEqual({ alarm: 'a', durationMs: 4 * hourMs, isStanding: false });
});

test('an alarm from before the period, or one that still stands, is left out', () => {
  const events = [event(3, 'a', 'cleared'), event(20, 'b', 'raised')];
  const figures = alarmFigures(events, mondayMs, mondayMs + dayMs);
  expect(figures.timeInAlarm).toBeCloseTo(7 / 24, 12);
  expect(figures.longestStanding).toEqual({ alarm: 'b', durationMs: 4 * hourMs, isStanding: true });
});

test('chattering and the most frequent alarms are not named', () => {
  const events = [0, 5, 10, 30, 60].flatMap((hour) => [event(hour, 'a', 'raised'), event(hour + 1, 'a', 'cleared')]);
  events.push(...[0, 30, 60].flatMap((hour) => [event(hour, 'b', 'raised'), event(hour + 1, 'b', 'cleared')]));
  events.sort((x, y) => x.timeMs - y.timeMs);
  const figures = alarmFigures(events, mondayMs, mondayMs + 4 * dayMs);
  expect(figures.chattering).toEqual(['a']);
  expect(figures.mostFrequent).toEqual([
    { alarm: 'a', raised: 5 },
    { alarm: 'b', raised: 3 },
  ]);
});

const dayOf = (...events: AlarmEvent[]) => alarmFigures(events, mondayMs, mondayMs + dayMs);

test('a raise before or after the period is counted in it, or one on its edge is not', () => {
  const events = [-1, 0, 12, 24, 25].map((hour) => event(hour, 'a', 'raised'));
  expect(dayOf(...events).raised).toBe(3);
  expect(dayOf(event(-5, 'a', 'raised'), event(-2, 'a', 'cleared'))).toMatchObject({ raised: 0, timeInAlarm: 0 });
  expect(dayOf(event(-5, 'a', 'raised'), event(-2, 'a', 'cleared')).longestStanding).toBeUndefined();
  expect(dayOf(event(5, 'a', 'raised'), event(5, 'a', 'cleared')).longestStanding).toBeUndefined();
});

test('a period of no length has figures that are no numbers', () => {
  for (const toMs of [mondayMs, mondayMs - dayMs]) {
    const figures = alarmFigures([event(0, 'a', 'raised')], mondayMs, toMs);
    expect(figures).toMatchObject({ days: 0, raisedPerDay: 0, timeInAlarm: 0 });
  }
});

test('time in alarm counts an alarm twice within another, or depends on which of two ended first', () => {
  const from = (hour: number, alarm: string, to?: number) => [
    event(hour, alarm, 'raised'),
    ...(to === undefined ? [] : [event(to, alarm, 'cleared')]),
  ];
  expect(dayOf(...from(1, 'a', 20), ...from(2, 'b', 5)).timeInAlarm).toBeCloseTo(19 / 24, 12);
  expect(dayOf(...from(1, 'a'), ...from(10, 'b', 12)).timeInAlarm).toBeCloseTo(23 / 24, 12);
  expect(dayOf(...from(2, 'a', 4), ...from(10, 'b', 12)).timeInAlarm).toBeCloseTo(4 / 24, 12);
  // Raised before what is known, and raised again within it.
  expect(dayOf(event(2, 'a', 'reraised'), event(5, 'a', 'cleared')).timeInAlarm).toBeCloseTo(3 / 24, 12);
  // Raised again while it stands: the same stretch, and one more to answer.
  const again = dayOf(
    ...[event(2, 'a', 'raised'), event(3, 'a', 'acknowledged'), event(4, 'a', 'reraised'), event(9, 'a', 'cleared')],
  );
  expect(again).toMatchObject({ raised: 2, longestStanding: { alarm: 'a', durationMs: 7 * hourMs } });
  expect(again.timeInAlarm).toBeCloseTo(7 / 24, 12);
  // An end that is told twice is one.
  expect(dayOf(...from(2, 'a', 4), event(9, 'a', 'cleared')).timeInAlarm).toBeCloseTo(2 / 24, 12);
});

test('two alarms within 8 h or three within 26 h do not chatter, or five that lie further apart do', () => {
  const at = (...hours: number[]) =>
    alarmFigures(
      hours.map((hour) => event(hour, 'a', 'raised')),
      mondayMs,
      mondayMs + 30 * dayMs,
    ).chattering;
  expect(at(0, 5, 10)).toEqual(['a']);
  expect(at(0, 9, 26)).toEqual(['a']);
  expect(at(0, 9, 26.1)).toEqual([]);
  expect(at(0, 8)).toEqual(['a']);
  expect(at(0, 8.1)).toEqual([]);
  expect(at(0, 14, 28, 42, 56)).toEqual([]);
});

test('the most frequent alarms are not the first five, or not in their order', () => {
  const names = ['f', 'e', 'd', 'c', 'b', 'a'];
  const events = names.flatMap((alarm, times) => Array.from({ length: times + 1 }, () => event(1, alarm, 'raised')));
  expect(dayOf(...events).mostFrequent.map(({ alarm }) => alarm)).toEqual(['a', 'b', 'c', 'd', 'e']);
  const alike = ['b', 'c', 'a'].map((alarm) => event(1, alarm, 'raised'));
  expect(dayOf(...alike).mostFrequent.map(({ alarm }) => alarm)).toEqual(['a', 'b', 'c']);
});
