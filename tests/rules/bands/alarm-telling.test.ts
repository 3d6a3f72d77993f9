import { describe, expect, test } from 'vitest';
import {
  acknowledge,
  isAlive,
  longestShelvingMs,
  openGate,
  settle,
  shelve,
  unshelve,
} from '#rules/bands/life-cycle.ts';
import { Alarm, raised, strong, weak } from './lone-alarm.ts';
import { dayMs, hourMs, minuteMs, mondayMs } from './script.ts';

/** One alarm by itself, at the edges of its delays: IEC 62682 (ISA-18.2), clauses from memory. */

describe('what is told', () => {
  test('is told twice, or with the number of another time', () => {
    const alarm = raised();
    expect(alarm.settle(6)).toEqual([]);
    expect(alarm.events[0]).toEqual({
      timeMs: mondayMs + 5 * minuteMs,
      alarm: 'tank/ph/rate',
      occurrence: 1,
      state: 'raised',
      system: 'tank',
      metric: 'ph',
      rule: 'rate',
      priority: 'low',
      message: '',
    });
    alarm.seeFrom('normal', 6, 16);
    expect(alarm.settle(16)).toEqual(['cleared']);
    expect(alarm.settle(17)).toEqual([]);
    alarm.seeFrom('abnormal', 18, 23);
    alarm.settle(23);
    expect(alarm.told()).toEqual(['raised 1', 'cleared 1', 'raised 2']);
    expect(alarm.record).toMatchObject({ isReturned: false, told: ['raised'] });
    expect(new Alarm().record).toMatchObject({ latchings: [], told: [], occurrence: 0 });
    for (const key of ['value', 'by', 'why']) expect(alarm.events[0]).not.toHaveProperty(key);
  });

  test('leaves out the value', () => {
    const alarm = new Alarm();
    alarm.record.value = 8.5;
    alarm.seeFrom('abnormal', 0, 5);
    alarm.settle(5);
    expect(alarm.events[0]!.value).toBe(8.5);
  });

  test('is hidden by a weak cause once it was told, or by none from the first', () => {
    const hidden = new Alarm();
    hidden.seeFrom('abnormal', 0, 5);
    expect(hidden.settle(5, weak)).toEqual([]);
    expect(hidden.settle(6, strong)).toEqual([]);
    expect(hidden.settle(7)).toEqual(['raised']);
    expect(hidden.settle(8, weak)).toEqual([]);
    expect(hidden.settle(9, strong)).toEqual(['suppressed']);
    expect(hidden.settle(10, strong)).toEqual([]);
    expect(hidden.settle(11)).toEqual(['unsuppressed']);
    expect(hidden.told()).toEqual(['raised 1', 'suppressed 1', 'unsuppressed 1']);
    // A second time needs a number of its own.
    hidden.settle(12, strong);
    hidden.settle(13);
    expect(hidden.told().slice(3)).toEqual(['suppressed 2', 'unsuppressed 2']);
    expect(hidden.record.told).toEqual(['suppressed', 'unsuppressed']);
  });

  test('stays suppressed when it comes anew', () => {
    const alarm = raised();
    alarm.settle(6, strong);
    alarm.seeFrom('normal', 6, 16);
    expect(alarm.settle(16, strong)).toEqual(['cleared']);
    expect(alarm.record.isSuppressed).toBe(false);
  });

  test('of an alarm that is over is seen by nobody, or seen twice', () => {
    const alarm = raised();
    alarm.seeFrom('normal', 6, 16);
    alarm.settle(16);
    expect(alarm.record.isReturned).toBe(true);
    expect(isAlive(alarm.record)).toBe(false);
    acknowledge(alarm.record, 'ana', mondayMs + 20 * minuteMs, alarm.events);
    acknowledge(alarm.record, 'ana', mondayMs + 21 * minuteMs, alarm.events);
    expect(alarm.told()).toEqual(['raised 1', 'cleared 1', 'acknowledged 1']);
    expect(alarm.events.at(-1)).toMatchObject({ by: 'ana', timeMs: mondayMs + 20 * minuteMs });
    expect(alarm.record).toMatchObject({ isReturned: false, isAcknowledged: false, acknowledgedMs: null });
  });

  test('of an alarm that nobody was told of can be acknowledged', () => {
    const alarm = new Alarm();
    acknowledge(alarm.record, 'ana', mondayMs, alarm.events);
    alarm.seeFrom('abnormal', 0, 5);
    acknowledge(alarm.record, 'ana', mondayMs, alarm.events);
    expect(alarm.events).toEqual([]);
    expect(alarm.record.isAcknowledged).toBe(false);
  });

  test('of an acknowledged alarm that ends asks to be acknowledged again', () => {
    const alarm = raised();
    acknowledge(alarm.record, 'ana', mondayMs + 6 * minuteMs, alarm.events);
    acknowledge(alarm.record, 'ben', mondayMs + 7 * minuteMs, alarm.events);
    alarm.seeFrom('normal', 6, 16);
    alarm.settle(16);
    expect(alarm.told()).toEqual(['raised 1', 'acknowledged 1', 'cleared 1']);
    expect(alarm.record).toMatchObject({ isReturned: false, isAcknowledged: false, acknowledgedMs: null });
    // What comes next is unseen, and not raised again by the old acknowledgement.
    alarm.seeFrom('abnormal', 17, 22);
    expect(alarm.settle(22)).toEqual(['raised']);
    expect(alarm.settle(400)).toEqual([]);
  });

  test('is not raised again while it stands acknowledged, or though nobody acknowledged it', () => {
    const alarm = raised();
    expect(alarm.settle(200)).toEqual([]);
    acknowledge(alarm.record, 'ana', mondayMs + 201 * minuteMs, alarm.events);
    expect(alarm.settle(260)).toEqual([]);
    expect(alarm.settle(261)).toEqual(['reraised']);
    expect(alarm.record).toMatchObject({ isAcknowledged: false, acknowledgedMs: null, occurrence: 2 });
    expect(alarm.settle(400)).toEqual([]);
    // Hidden by its cause it waits; a rule without a time never comes back.
    acknowledge(alarm.record, 'ana', mondayMs + 401 * minuteMs, alarm.events);
    expect(alarm.settle(500, strong)).toEqual(['suppressed']);
    expect(alarm.settle(501)).toEqual(['unsuppressed', 'reraised']);
    acknowledge(alarm.record, 'ana', mondayMs + 502 * minuteMs, alarm.events);
    const before = alarm.events.length;
    settle(alarm.record, {}, openGate, mondayMs + 9 * dayMs, alarm.events);
    expect(alarm.events).toHaveLength(before);
  });

  test('waits for a clock that ran ahead before it is raised again', () => {
    const alarm = raised();
    acknowledge(alarm.record, 'ana', mondayMs + 10 * dayMs, alarm.events);
    expect(alarm.settle(10)).toEqual([]);
    expect(alarm.settle(69)).toEqual([]);
    expect(alarm.settle(70)).toEqual(['reraised']);
  });
});

describe('a shelved alarm', () => {
  const until = (alarm: Alarm, minute: number, now = 6) =>
    shelve(
      alarm.record,
      mondayMs + minute * minuteMs,
      { by: 'ana', why: 'late' },
      mondayMs + now * minuteMs,
      alarm.events,
    );

  test('is hidden for a time that has passed, or for longer than seven days', () => {
    const alarm = raised();
    until(alarm, 6);
    until(alarm, Number.NaN);
    expect(alarm.record.shelvedUntilMs).toBeNull();
    expect(alarm.told()).toEqual(['raised 1']);
    until(alarm, 60);
    expect(alarm.record.shelvedUntilMs).toBe(mondayMs + hourMs);
    expect(alarm.events.at(-1)).toMatchObject({ state: 'shelved', by: 'ana', why: 'late', occurrence: 1 });
    until(alarm, 1_000_000);
    expect(alarm.record.shelvedUntilMs).toBe(mondayMs + 6 * minuteMs + longestShelvingMs);
    expect(longestShelvingMs).toBe(7 * dayMs);
    expect(alarm.told().at(-1)).toBe('shelved 2');
  });

  test('comes back a moment late, or not as one that nobody has seen', () => {
    const alarm = raised();
    acknowledge(alarm.record, 'ana', mondayMs + 6 * minuteMs, alarm.events);
    until(alarm, 60);
    expect(alarm.settle(59.9)).toEqual([]);
    expect(alarm.settle(60)).toEqual(['unshelved', 'reraised']);
    expect(alarm.events.at(-2)).not.toHaveProperty('by');
    expect(alarm.record).toMatchObject({ shelvedUntilMs: null, isAcknowledged: false });
  });

  test('is raised meanwhile, or not when it holds at the end', () => {
    const alarm = new Alarm();
    until(alarm, 60, 0);
    expect(isAlive(alarm.record)).toBe(true);
    alarm.seeFrom('abnormal', 0, 5);
    expect(alarm.settle(5)).toEqual([]);
    expect(alarm.settle(60)).toEqual(['unshelved', 'raised']);
    const acknowledged = raised();
    acknowledge(acknowledged.record, 'ana', mondayMs + 6 * minuteMs, acknowledged.events);
    until(acknowledged, 300);
    expect(acknowledged.settle(200)).toEqual([]);
  });

  test('that ended meanwhile rings at the end of its time', () => {
    const alarm = raised();
    until(alarm, 60);
    alarm.seeFrom('normal', 6, 16);
    expect(alarm.settle(16)).toEqual(['cleared']);
    expect(alarm.settle(60)).toEqual(['unshelved']);
    const hidden = raised();
    hidden.settle(6, strong);
    until(hidden, 60);
    expect(hidden.settle(60, strong)).toEqual(['unshelved']);
  });

  test('cannot be taken back, or is taken back twice', () => {
    const alarm = raised();
    unshelve(alarm.record, 'ana', mondayMs + 6 * minuteMs, alarm.events);
    expect(alarm.told()).toEqual(['raised 1']);
    until(alarm, 60);
    unshelve(alarm.record, 'ben', mondayMs + 7 * minuteMs, alarm.events);
    unshelve(alarm.record, 'ben', mondayMs + 8 * minuteMs, alarm.events);
    expect(alarm.told()).toEqual(['raised 1', 'shelved 1', 'unshelved 1', 'reraised 2']);
    expect(alarm.events[2]).toMatchObject({ by: 'ben' });
  });

  test('stays hidden for more than seven days by a clock that stepped back', () => {
    const alarm = raised();
    until(alarm, 10 * 1440, 9 * 1440);
    alarm.settle(0);
    expect(alarm.record.shelvedUntilMs).toBe(mondayMs + longestShelvingMs);
  });
});
