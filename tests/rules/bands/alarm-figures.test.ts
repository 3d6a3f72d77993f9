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
