import { describe, expect, test } from 'vitest';
import { emptyStuckRun, flatCondition, standstillAllowedMs } from '#rules/bands/kinds/flat-line.ts';
import { badShareCondition, emptyBadShare } from '#rules/bands/kinds/impossible-value.ts';
import { silentCondition } from '#rules/bands/kinds/silent-probe.ts';
import { emptyHabit, learnHabit, silenceAllowedMs } from '#rules/verdicts/silence.ts';
import { hourMs, minuteMs, mondayMs } from './script.ts';

/** What is remembered of one stream, and what is made of it at the edges. Limits: common practice, no published source. */

describe('the habit of a stream', () => {
  test('is not the interval at which it mostly speaks', () => {
    const habit = emptyHabit();
    for (let at = 0; at < 400; at += 1) learnHabit(habit, at % 4 === 0 ? 5 * minuteMs : minuteMs);
    expect(habit.count).toBe(10);
    expect(habit.typicalMs / minuteMs).toBeGreaterThan(0.97);
    expect(habit.typicalMs / minuteMs).toBeLessThan(1.1);
  });

  test('is learned from a first gap that was an outage and never put right', () => {
    const habit = emptyHabit();
    learnHabit(habit, 4 * hourMs);
    expect(habit).toEqual({ count: 1, typicalMs: 4 * hourMs, usualPauseMs: 4 * hourMs });
    // At first half as much again each time: 240 min / 1.5^9 is some 6 minutes.
    for (let at = 0; at < 9; at += 1) learnHabit(habit, minuteMs);
    expect(habit.typicalMs / minuteMs).toBeCloseTo(240 / 1.5 ** 9, 6);
    // Known now: from here on by one in fifty.
    learnHabit(habit, minuteMs);
    expect(habit.typicalMs / minuteMs).toBeCloseTo(240 / 1.5 ** 9 / 1.02, 6);
    for (let at = 0; at < 120; at += 1) learnHabit(habit, minuteMs);
    expect(habit.typicalMs).toBe(minuteMs);
    learnHabit(habit, 2 * minuteMs);
    expect(habit.typicalMs).toBeCloseTo(1.02 * minuteMs, 6);
    learnHabit(habit, 1.03 * minuteMs);
    expect(habit.typicalMs).toBeCloseTo(1.03 * minuteMs, 6);
    learnHabit(habit, 1.03 * minuteMs);
    expect(habit.typicalMs).toBeCloseTo(1.03 * minuteMs, 6);
  });

  test('learns from one outage that outages are usual, or never forgets a pause', () => {
    const habit = emptyHabit();
    for (let at = 0; at < 20; at += 1) learnHabit(habit, minuteMs);
    learnHabit(habit, 600 * minuteMs);
    expect(habit.usualPauseMs).toBeCloseTo(1.5 * minuteMs, 6);
    learnHabit(habit, 2 * minuteMs);
    expect(habit.usualPauseMs).toBeCloseTo(2 * minuteMs, 6);
    for (let at = 0; at < 2000; at += 1) learnHabit(habit, minuteMs);
    // The extra minute has faded to 1/e.
    expect(habit.usualPauseMs / minuteMs).toBeCloseTo(1 + Math.exp(-1), 3);
  });

  test.each([
    // interval of the configuration, readings, minutes between them, a probe on a wire?, minutes allowed
    [1, 20, 1, true, 5],
    [10, 20, 1, true, 50],
    [0.1, 20, 1, true, 3],
    [undefined, 1, 1, true, 180],
    [undefined, 1, 1, false, undefined],
    [undefined, 4, 1, true, 30],
    [undefined, 4, 60, true, 300],
    [undefined, 10, 60, false, undefined],
    [undefined, 11, 60, false, 300],
    [undefined, 11, 0.1, true, 3],
    [undefined, 40, 2, true, 10],
  ] as const)(
    'with an interval of %s min and %s readings %s min apart asks for a word too soon or too late',
    (every, readings, apart, isStreamed, allowed) => {
      const habit = emptyHabit();
      for (let at = 1; at < readings; at += 1) learnHabit(habit, apart * minuteMs);
      const allowedMs = silenceAllowedMs(habit, every === undefined ? undefined : every * minuteMs, isStreamed);
      expect(allowedMs === undefined ? undefined : allowedMs / minuteMs).toEqual(allowed);
    },
  );

  test('with a pause now and then is called dead at the next one', () => {
    const habit = emptyHabit();
    for (let at = 0; at < 400; at += 1) learnHabit(habit, at % 20 === 0 ? 10 * minuteMs : minuteMs);
    const allowedMs = silenceAllowedMs(habit, undefined, true)!;
    expect(allowedMs / minuteMs).toBeGreaterThan(20);
    expect(allowedMs / minuteMs).toBeLessThanOrEqual(25);
  });

  test.each([
    [10, undefined, true, 'unknown'],
    [5, 5, true, 'normal'],
    [6, 5, true, 'abnormal'],
    [6, 5, false, 'abnormal'],
    [5, 5, false, 'unknown'],
  ] as const)('a silence of %s where %s are allowed is misjudged', (silent, allowed, isHeardAgain, is) => {
    expect(silentCondition(silent, allowed, isHeardAgain)).toBe(is);
  });
});

describe('the share of bad readings', () => {
  test('of a slow probe is an alarm after one or two, or not after three', () => {
    const bad = emptyBadShare();
    const hourly = (isBad: boolean) => badShareCondition(bad, isBad, hourMs, 0.5, 0.4);
    expect([hourly(true), hourly(true), hourly(true)]).toEqual(['deadband', 'deadband', 'abnormal']);
    // A quarter less with each good one: 0.578, 0.434, 0.325, 0.244, 0.183, 0.137, 0.103, 0.077.
    expect(Array.from({ length: 7 }, () => hourly(false))).toEqual([...Array(6).fill('deadband'), 'normal']);
  });

  test('of ten minutes is not the 63 in 100 of its time constant', () => {
    const bad = emptyBadShare();
    for (let second = 0; second < 600; second += 1) badShareCondition(bad, true, 1000, 0.5, 0.4);
    expect(bad.share).toBeCloseTo(1 - Math.exp(-1), 9);
  });

  test('counts as too much at its limit, or as enough at the end of its deadband', () => {
    const once = (limit: number, deadband: number) => badShareCondition(emptyBadShare(), true, hourMs, limit, deadband);
    expect(once(0.25, 0.2)).toBe('deadband');
    expect(once(0.24, 0.2)).toBe('abnormal');
    expect(once(0.5, 0.25)).toBe('normal');
    expect(once(0.5, 0.26)).toBe('deadband');
  });

  test('never comes to rest', () => {
    const bad = emptyBadShare();
    badShareCondition(bad, true, minuteMs, 0.5, 0.4);
    for (let minute = 0; minute < 44; minute += 1) badShareCondition(bad, false, minuteMs, 0.5, 0.4);
    expect(bad.share).toBeGreaterThan(0.001);
    badShareCondition(bad, false, 2 * minuteMs, 0.5, 0.4);
    expect(bad.share).toBe(0);
  });
});

describe('a value that stands still', () => {
  const limitMs = 4 * hourMs;
  /** Gives the condition of the last value; `value x minutes`, one a minute. */
  function feed(run: ReturnType<typeof emptyStuckRun>, startMinute: number, ...parts: [number, number, boolean?][]) {
    let minute = startMinute;
    let last: string = '';
    for (const [value, minutes, isGood = true] of parts) {
      for (let at = 0; at < minutes; at += 1) {
        last = flatCondition(run, value, isGood, mondayMs + minute * minuteMs, limitMs);
        minute += 1;
      }
    }
    return { last, minute };
  }

  test('for its time is missed, or told a minute before it', () => {
    const run = emptyStuckRun();
    expect(feed(run, 0, [8.1, 240]).last).toBe('normal');
    expect(feed(run, 240, [8.1, 1]).last).toBe('abnormal');
  });

  test('in two readings that lie far apart is called stuck', () => {
    const run = emptyStuckRun();
    const hourly = (hour: number) => flatCondition(run, 8.1, true, mondayMs + hour * hourMs, limitMs);
    expect([0, 1, 2, 3, 4, 5, 6].map(hourly)).toEqual(Array(7).fill('normal'));
    expect(hourly(7)).toBe('abnormal');
  });

  test('begins anew after one odd value, good or doubtful', () => {
    const run = emptyStuckRun();
    expect(feed(run, 0, [8.1, 300], [8.13, 1]).last).toBe('deadband');
    expect(feed(run, 301, [8.1, 1]).last).toBe('abnormal');
    expect(feed(run, 302, [9.9, 1, false]).last).toBe('unknown');
    expect(feed(run, 303, [8.1, 1]).last).toBe('abnormal');
    expect(run.sinceMs).toBe(mondayMs);
  });

  test('goes on although the value moved twice', () => {
    const run = emptyStuckRun();
    expect(feed(run, 0, [8.1, 300], [8.13, 1]).last).toBe('deadband');
    // A third value: the run is over, and normal at once.
    expect(feed(run, 301, [8.12, 1]).last).toBe('normal');
    expect(feed(run, 302, [8.1, 1]).last).toBe('normal');
    const twice = emptyStuckRun();
    expect(feed(twice, 0, [8.1, 300], [8.13, 2]).last).toBe('deadband');
    expect(feed(twice, 302, [8.1, 1]).last).toBe('normal');
    expect(twice.sinceMs).toBe(mondayMs + 302 * minuteMs);
  });

  test('for eight readings of a slow probe is forgotten over one odd value', () => {
    const run = emptyStuckRun();
    const hourly = (hour: number, value: number) => flatCondition(run, value, true, mondayMs + hour * hourMs, limitMs);
    for (let hour = 0; hour < 8; hour += 1) hourly(hour, 8.1);
    expect(hourly(8, 8.13)).toBe('deadband');
    expect(hourly(9, 8.1)).toBe('abnormal');
  });

  test('for a moment, or in a few readings, is remembered as a long run', () => {
    // Ten readings in ten minutes; seven in seven hours.
    const brief = emptyStuckRun();
    expect(feed(brief, 0, [8.1, 10], [8.2, 1]).last).toBe('normal');
    const few = emptyStuckRun();
    for (let hour = 0; hour < 7; hour += 1) flatCondition(few, 8.1, true, mondayMs + hour * hourMs, limitMs);
    expect(flatCondition(few, 8.2, true, mondayMs + 7 * hourMs, limitMs)).toBe('normal');
    // Half an hour in eight readings is one.
    const long = emptyStuckRun();
    for (let at = 0; at < 8; at += 1) flatCondition(long, 8.1, true, mondayMs + at * 4 * minuteMs, limitMs);
    expect(flatCondition(long, 8.2, true, mondayMs + 30 * minuteMs, limitMs)).toBe('deadband');
  });

  test('on the next number for half an hour keeps the alarm of the one before', () => {
    const run = emptyStuckRun();
    feed(run, 0, [8.1, 300]);
    expect(feed(run, 300, [8.2, 30]).last).toBe('deadband');
    expect(feed(run, 330, [8.2, 1]).last).toBe('normal');
  });

  test('that is doubtful from the first reading is not followed', () => {
    const run = emptyStuckRun();
    expect(feed(run, 0, [8.1, 300, false]).last).toBe('abnormal');
  });

  /** Days of a probe that stands still for so many minutes at a time, one reading a minute. */
  function habitOf(minutes: number, days: number, from = 0): ReturnType<typeof emptyStuckRun> {
    const run = emptyStuckRun();
    feed(
      run,
      from,
      ...Array.from({ length: (days * 1440) / minutes }, (_, at): [number, number] => [8 + at / 1000, minutes]),
    );
    return run;
  }

  test('a lively probe is given the hours of a coarse one, or the other way round', () => {
    expect(standstillAllowedMs(habitOf(4, 1.9), limitMs)).toBe(limitMs);
    // Two days are known when a third has begun; five times its four minutes, and half an hour at least.
    expect(standstillAllowedMs(habitOf(4, 2.2), limitMs)).toBe(30 * minuteMs);
    expect(standstillAllowedMs(habitOf(20, 2.2), limitMs)).toBe(100 * minuteMs);
    // A display so coarse that each number stands for hours: its habit is known as well, up to three times the default.
    expect(standstillAllowedMs(habitOf(180, 3.2), limitMs)).toBe(12 * hourMs);
    expect(standstillAllowedMs(habitOf(360, 2.3), limitMs)).toBe(12 * hourMs);
    const slow = emptyStuckRun();
    // A reading in ten minutes, two of each number.
    for (let at = 0; at < 320; at += 1) {
      flatCondition(slow, 8 + Math.floor(at / 2) / 1000, true, mondayMs + at * 10 * minuteMs, limitMs);
    }
    expect(standstillAllowedMs(slow, limitMs)).toBe(100 * minuteMs);
  });

  test('a habit is kept for more than a week, or for less', () => {
    const run = habitOf(20, 7.5);
    expect(run.longestByDayMs).toHaveLength(7);
    feed(run, 7.5 * 1440, ...Array.from({ length: 400 }, (_, at): [number, number] => [9 + at / 1000, 4]));
    expect(standstillAllowedMs(run, limitMs)).toBe(100 * minuteMs);
    feed(run, 7.5 * 1440 + 1600, ...Array.from({ length: 2500 }, (_, at): [number, number] => [10 + at / 1000, 4]));
    expect(run.longestByDayMs).toHaveLength(7);
    expect(standstillAllowedMs(run, limitMs)).toBe(30 * minuteMs);
  });

  test('a mended probe teaches that standing still is usual, or a pause of the stream does', () => {
    const run = habitOf(20, 2.25);
    expect(standstillAllowedMs(run, limitMs)).toBe(100 * minuteMs);
    // Stuck for five hours, then mended: half as much again, 20 to 30 minutes.
    feed(
      run,
      2.25 * 1440,
      [7.7, 300],
      ...Array.from({ length: 10 }, (_, at): [number, number] => [7.8 + at / 1000, 4]),
    );
    expect(standstillAllowedMs(run, limitMs)).toBe(150 * minuteMs);
    const paused = habitOf(20, 3);
    // One reading, nothing for ten hours, then another number.
    feed(paused, 3 * 1440, [7.7, 1]);
    feed(paused, 3 * 1440 + 600, [7.8, 1], [7.9, 1]);
    expect(standstillAllowedMs(paused, limitMs)).toBe(100 * minuteMs);
    const away = habitOf(20, 3);
    // Two readings of one number more than a day apart.
    feed(away, 3 * 1440, [7.7, 1]);
    feed(away, 4 * 1440 + 10, [7.7, 1], [7.8, 1], [7.9, 1]);
    expect(standstillAllowedMs(away, limitMs)).toBe(100 * minuteMs);
    // Of a day and no more: it stood.
    const day = habitOf(20, 3);
    feed(day, 3 * 1440, [7.7, 1]);
    feed(day, 4 * 1440 - 1, [7.7, 1], [7.8, 1]);
    expect(standstillAllowedMs(day, limitMs)).toBe(150 * minuteMs);
  });
});
