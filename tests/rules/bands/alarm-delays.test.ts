import { describe, expect, test } from 'vitest';
import { chatteringWindowMs } from '#rules/bands/comings.ts';
import { isAlive, isChattering, observe, staleAfterMs, unlatch } from '#rules/bands/life-cycle.ts';
import { Alarm, raised, settings } from './lone-alarm.ts';
import { dayMs, hourMs, minuteMs, mondayMs } from './script.ts';

/** One alarm by itself, at the edges of its delays: IEC 62682 (ISA-18.2), clauses from memory. */

describe('delays', () => {
  test('end a minute early, or count what nobody saw', () => {
    const alarm = new Alarm();
    expect(alarm.seeFrom('abnormal', 0, 4)).toBe(false);
    expect(isAlive(alarm.record)).toBe(false);
    expect(alarm.see('abnormal', 5)).toBe(true);
    expect(alarm.see('abnormal', 6)).toBe(false);
    expect(alarm.record).toMatchObject({ isLatched: true, abnormalSinceMs: mondayMs });
    expect(isAlive(alarm.record)).toBe(true);
    expect(alarm.seeFrom('normal', 7, 16)).toBe(false);
    expect(alarm.see('normal', 17)).toBe(true);
    expect(alarm.record).toMatchObject({ isLatched: false, abnormalSinceMs: null, normalSinceMs: null });
    expect(alarm.record.endedMs).toBe(mondayMs + 17 * minuteMs);
  });

  test('run on over a gap that is too long, or break at one that is allowed', () => {
    const held = new Alarm();
    held.see('abnormal', 0);
    expect(held.see('abnormal', 10)).toBe(true);
    const broken = new Alarm();
    broken.see('abnormal', 0);
    expect(broken.see('abnormal', 10.01)).toBe(false);
    expect(broken.record.abnormalSinceMs).toBe(mondayMs + 10.01 * minuteMs);
    const returning = raised();
    returning.see('normal', 6);
    expect(returning.see('normal', 16)).toBe(true);
    const unsure = raised();
    unsure.see('normal', 6);
    expect(unsure.see('normal', 16.01)).toBe(false);
    // The alarm that stands is as old as it was.
    expect(unsure.record.abnormalSinceMs).toBe(mondayMs);
  });

  test('are moved by missing data, or a change is reported that was none', () => {
    const alarm = new Alarm();
    alarm.seeFrom('abnormal', 0, 4);
    const before = structuredClone(alarm.record);
    expect(alarm.see('unknown', 60)).toBe(false);
    expect(alarm.record).toEqual(before);
    expect(alarm.see('normal', 5)).toBe(false);
    const standing = raised();
    standing.see('normal', 6);
    expect(standing.see('unknown', 300)).toBe(false);
    expect(standing.see('deadband', 7)).toBe(false);
    expect(standing.record.isLatched).toBe(true);
  });

  test('of a slow stream break at each of its own gaps', () => {
    const alarm = new Alarm();
    const slowly = (minute: number) =>
      observe(alarm.record, settings, 'abnormal', mondayMs + minute * minuteMs, 3 * hourMs);
    slowly(0);
    expect(slowly(60)).toBe(true);
  });

  test('count backwards when the clock steps back, or twice in one moment', () => {
    const alarm = new Alarm();
    alarm.seeFrom('abnormal', 0, 4);
    expect(alarm.see('abnormal', 2)).toBe(false);
    expect(alarm.record.abnormalSinceMs).toBe(mondayMs + 2 * minuteMs);
    expect(alarm.see('abnormal', 2)).toBe(false);
    expect(alarm.record.abnormalSinceMs).toBe(mondayMs + 2 * minuteMs);
    expect(alarm.see('abnormal', 4)).toBe(false);
    expect(alarm.see('abnormal', 4)).toBe(false);
    expect(alarm.see('abnormal', 7)).toBe(true);
  });

  test('run on through one good value, or through the deadband', () => {
    const alarm = new Alarm();
    alarm.seeFrom('abnormal', 0, 3);
    alarm.see('normal', 4);
    expect(alarm.see('abnormal', 5)).toBe(false);
    expect(alarm.record.abnormalSinceMs).toBe(mondayMs + 5 * minuteMs);
    alarm.see('deadband', 6);
    expect(alarm.record.abnormalSinceMs).toBeNull();
    const standing = raised();
    standing.seeFrom('normal', 6, 12);
    standing.see('deadband', 13);
    expect(standing.seeFrom('normal', 14, 23)).toBe(false);
    expect(standing.see('normal', 24)).toBe(true);
    const again = raised();
    again.seeFrom('normal', 6, 12);
    again.see('abnormal', 13);
    expect(again.seeFrom('normal', 14, 23)).toBe(false);
    expect(again.see('normal', 24)).toBe(true);
  });
});

describe('an alarm that comes and goes', () => {
  /** Raised and cleared at each of these minutes, told to nobody. */
  function cameAt(...minutes: number[]): Alarm {
    const alarm = new Alarm();
    for (const minute of minutes) {
      alarm.seeFrom('abnormal', minute, minute + 5);
      if (minute !== minutes.at(-1)) unlatch(alarm.record, mondayMs + (minute + 6) * minuteMs);
    }
    return alarm;
  }
  test('twice within 8 h or three times within 26 h is not called chattering, or one is that came later', () => {
    expect(isChattering(cameAt(0).record)).toBe(false);
    expect(isChattering(cameAt(0, 8 * 60).record)).toBe(true);
    expect(isChattering(cameAt(0, 8 * 60 + 1).record)).toBe(false);
    expect(isChattering(cameAt(0, 9 * 60, 26 * 60).record)).toBe(true);
    expect(isChattering(cameAt(0, 9 * 60, 26 * 60 + 1).record)).toBe(false);
    // The last ones count.
    expect(isChattering(cameAt(0, 60, 26 * 60 + 1, 26 * 60 + 30).record)).toBe(true);
    expect(cameAt(0, 60, 120, 180).record.latchings).toHaveLength(3);
    expect(chatteringWindowMs).toBe(26 * hourMs);
  });

  /** Minutes on normal values until it is told that it is over, with the off-delay of ten. */
  const staysFor = (alarm: Alarm, from: number): number => {
    for (let minute = 0; minute < 2000; minute += 1) {
      alarm.see('normal', from + minute);
      if (alarm.settle(from + minute).includes('cleared')) return minute;
    }
    return Number.NaN;
  };

  test('ends as fast as one that came once, or stays for days', () => {
    const toldAt = (...minutes: number[]) => {
      const alarm = cameAt(...minutes);
      alarm.settle(minutes.at(-1)! + 5);
      return alarm;
    };
    expect(staysFor(toldAt(0), 10)).toBe(10);
    expect(staysFor(toldAt(0, 9 * 60), 9 * 60 + 10)).toBe(10);
    // Two hours after it ended; a period and a quarter after it last began when that is later.
    expect(staysFor(toldAt(0, 60), 70)).toBe(10 + 120);
    expect(staysFor(toldAt(0, 20, 40), 50)).toBe(10 + 120);
    expect(staysFor(toldAt(0, 300), 310)).toBe(375 - 5);
    expect(staysFor(toldAt(0, 200, 500), 510)).toBe(375 - 5);
    // Its condition has ended all the while.
    const waiting = toldAt(0, 300);
    waiting.seeFrom('normal', 310, 320);
    expect(waiting.record).toMatchObject({ isLatched: false, isTold: true });
  });

  test('is counted by a clock that ran ahead', () => {
    const alarm = cameAt(1000, 1100);
    unlatch(alarm.record, mondayMs);
    alarm.see('abnormal', 0);
    alarm.seeFrom('abnormal', 1, 6);
    expect(alarm.record.latchings).toEqual([mondayMs + 5 * minuteMs]);
  });
});

test('an alarm is called stale before it has stood for a day', () => {
  expect(staleAfterMs).toBe(dayMs);
});
