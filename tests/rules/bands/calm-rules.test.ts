import { describe, expect, test } from 'vitest';
import { analyteOf, type Stream } from '#rules/bands/room-index.ts';
import { slots } from '#rules/bands/rule-settings.ts';
import { judgeCalmValue } from '#rules/bands/stream-rules.ts';
import type { Bands, RuleOverride } from '#rules/bands/watched-room.ts';
import { dayMs, hourMs, minuteMs, mondayMs } from './script.ts';
import { type StandingRoom, standingRoom } from './standing-room.ts';

/** The rules on five-minute medians, one median at a time. Limits: common practice, no published source. */

const bands: Bands = {
  temperature: { low: 20, high: 30, mostPerHour: 0.5, mostPerDay: 1 },
  salinity: { low: 34, high: 36 },
};

/** Hands medians on, one in five minutes from `fromMs`; gives what was told. */
function judge(room: StandingRoom, stream: Stream, fromMs: number, ...medians: number[]): string[] {
  return medians.flatMap((median, at) => {
    const timeMs = fromMs + at * 5 * minuteMs;
    room.index.nowMs = timeMs;
    room.index.events = [];
    judgeCalmValue(room.index, stream, median, timeMs);
    return room.index.events.map(({ state, rule }) => `${at * 5} ${state} ${rule}`);
  });
}

const only = (...rules: RuleOverride['rule'][]): RuleOverride[] =>
  (['rate', 'swing', 'departure', 'drift'] as const)
    .filter((rule) => !rules.includes(rule))
    .map((rule) => ({ rule, enabled: false }));

describe('a move', () => {
  test('within the hour is told in the wrong direction, a median late, or by a rule that is off', () => {
    const room = standingRoom(bands, [], only('rate'));
    const stream = room.stream('temperature');
    expect(judge(room, stream, mondayMs, 25, 25.25, 25.5, 25.625, 25.625)).toEqual(['20 raised rate']);
    expect(stream.series).toMatchObject({ calmValue: 25.625, calmMs: mondayMs + 20 * minuteMs });
    expect(stream.series.figures).toMatchObject({ moveInHour: 0.625, swing: 0, distanceFromUsual: 0 });
    const down = standingRoom(bands, [], only('rate'));
    const falling = down.stream('temperature');
    expect(judge(down, falling, mondayMs, 25, 24.375, 24.375)).toEqual(['10 raised rate']);
    expect(falling.series.figures.moveInHour).toBe(-0.625);
    // Four fifths of the limit count as calm again.
    expect(judge(down, falling, mondayMs + 2 * hourMs, 24.375, 24.75, 24.75, 24.75)).toEqual(['10 cleared rate']);
    const off = standingRoom(bands, [], only('swing'));
    expect(judge(off, off.stream('temperature'), mondayMs, 25, 25.75, 25.75)).toEqual([]);
    expect(off.stream('temperature').series.figures).toMatchObject({ moveInHour: 0, swing: 0.75 });
  });

  test('within the day is told before its limit, or not after it', () => {
    const room = standingRoom(bands, [], only('swing'));
    const stream = room.stream('temperature');
    expect(judge(room, stream, mondayMs, 25, 26, 26, 26)).toEqual([]);
    expect(judge(room, stream, mondayMs + hourMs, 26.25, 26.25, 26.25)).toEqual(['10 raised swing']);
    expect(stream.series.figures.swing).toBe(1.25);
  });
});

describe('what a fault made of the water', () => {
  test.each(['above', 'below', 'flat', 'impossible'] as const)('by %s becomes what the day is used to', (slot) => {
    const room = standingRoom(bands);
    const stream = room.stream('salinity');
    room.stands(stream, slot);
    judge(room, stream, mondayMs, 35, 35.01);
    expect(stream.series.cycle.hour).toBeNull();
    // The rest is judged as ever.
    expect(stream.series.lastHour.values).toEqual([35, 35.01]);
    stream.series.alarms[slots[slot]]!.isLatched = false;
    judge(room, stream, mondayMs + hourMs, 35, 35.01);
    expect(stream.series.cycle.hour).toBe(mondayMs / hourMs + 1);
  });

  test.each(['rate', 'silent', 'disagree'] as const)('by %s is left out of it', (slot) => {
    const room = standingRoom(bands);
    const stream = room.stream('salinity');
    room.stands(stream, slot);
    judge(room, stream, mondayMs, 35);
    expect(stream.series.cycle.hour).not.toBeNull();
  });

  test('is learned where no rule asks for a habit, or not where one does', () => {
    const learns = (...rules: RuleOverride['rule'][]) => {
      const room = standingRoom(bands, [], only(...rules));
      const stream = room.stream('salinity');
      judge(room, stream, mondayMs, 35);
      return stream.series.cycle.hour !== null;
    };
    expect([learns('rate'), learns('drift'), learns('departure')]).toEqual([false, true, true]);
  });
});

/** A stream of salinity with seven quiet days behind it and a day that rose by 0.02 an hour, to 35.48. */
function walking(overrides: RuleOverride[], perHour = 0.02) {
  const room = standingRoom(bands, [], overrides);
  const stream = room.stream('salinity');
  for (let hour = 0; hour < 8 * 24; hour += 1) {
    const value = 35 + Math.max(0, hour - 7 * 24 + 1) * perHour;
    judge(room, stream, mondayMs + hour * hourMs, value);
  }
  return { room, stream, nowMs: mondayMs + 8 * dayMs };
}

describe('a habit', () => {
  test('is departed from unsaid, or said by a rule that is off', () => {
    const { room, stream, nowMs } = walking(only('departure'), 0);
    // 0.15 of a band of 2 is allowed: 0.3, for half an hour.
    expect(judge(room, stream, nowMs, 35.25, 35.25, 35.25, 35.25, 35.25, 35.25, 35.25)).toEqual([]);
    expect(stream.series.figures.distanceFromUsual).toBe(0.25);
    const told = judge(room, stream, nowMs + hourMs, 35.5, 35.5, 35.5, 35.5, 35.5, 35.5, 35.5, 35.5);
    expect(told).toEqual(['30 raised departure']);
    const off = walking(only('drift'), 0);
    expect(judge(off.room, off.stream, off.nowMs, ...Array<number>(12).fill(35.5))).toEqual([]);
    // Unknown it is no distance.
    const young = standingRoom(bands, [], only('departure'));
    young.stream('salinity').series.figures.distanceFromUsual = 9;
    judge(young, young.stream('salinity'), mondayMs, 35);
    expect(young.stream('salinity').series.figures.distanceFromUsual).toBe(0);
  });
});

describe('a walk', () => {
  /** Hour by hour on from there; what was told by which hour. */
  function goOn(
    { room, stream, nowMs }: ReturnType<typeof walking>,
    hours: number,
    each?: (atMs: number) => void,
  ): string[] {
    return Array.from({ length: hours }, (_, hour) => {
      const atMs = nowMs + hour * hourMs;
      each?.(atMs);
      return judge(room, stream, atMs, 35.5 + 0.02 * hour).map((line) => line.replace(/^0/, `${hour}`));
    }).flat();
  }

  test('towards the edge is not told after its two hours, or without its pace', () => {
    const walk = walking(only('drift'));
    const { figures } = walk.stream.series;
    // In some 27 hours: told once it has been so for two hours, which may have been before.
    const told = [...goOn(walk, 4)];
    const alarm = walk.stream.series.alarms[slots.drift]!;
    expect(alarm.isLatched).toBe(true);
    expect(told.length).toBeLessThanOrEqual(1);
    expect(figures.perDay).toBeCloseTo(0.48, 6);
    expect(figures.hoursToLeave).toBeGreaterThan(20);
    expect(figures.hoursToLeave).toBeLessThan(30);
    // Far from the edge, or by a rule that is off, nothing is told.
    expect(walking(only('drift'), 0.002).stream.series.alarms[slots.drift]).toBeNull();
    expect(walking(only('departure')).stream.series.alarms[slots.drift]).toBeNull();
    expect(walking(only('departure')).stream.series.figures.perDay).toBe(0);
  });

  test('is told against the estimator of the last day, or held back by one of the day before', () => {
    const spoke = (hoursAgo: number) => {
      const walk = walking(only('drift'));
      const alarm = walk.stream.series.alarms[slots.drift]!;
      goOn(walk, 12, (atMs) => {
        analyteOf(walk.room.index, 'tank', 'salinity')!.forecastMs = atMs - hoursAgo * hourMs;
      });
      return alarm.isLatched;
    };
    expect(spoke(23)).toBe(false);
    expect(spoke(24)).toBe(true);
  });

  test('stands on when the last day is not known, or though the estimator speaks', () => {
    const lost = (isForecast: boolean) => {
      const walk = walking(only('drift'));
      goOn(walk, 3);
      // A day and a half of silence: the walk is not known any more.
      const laterMs = walk.nowMs + 39 * hourMs;
      const alarm = walk.stream.series.alarms[slots.drift]!;
      for (let hour = 0; hour < 8; hour += 1) {
        const atMs = laterMs + hour * hourMs;
        if (isForecast) analyteOf(walk.room.index, 'tank', 'salinity')!.forecastMs = atMs;
        judge(walk.room, walk.stream, atMs, 35.5);
      }
      return { isLatched: alarm.isLatched, figures: walk.stream.series.figures };
    };
    expect(lost(false).isLatched).toBe(true);
    expect(lost(true)).toMatchObject({ isLatched: false, figures: { perDay: 0, hoursToLeave: null } });
  });
});

describe('two probes', () => {
  /** `left` and `right` with medians a degree apart; the alarm is of the first by name. */
  function pair(agoMs: number, given: { third?: number; overrides?: RuleOverride[] } = {}) {
    const room = standingRoom(bands, [], [...only(), ...(given.overrides ?? [])]);
    const right = room.stream('temperature', 'right');
    const left = room.stream('temperature', 'left');
    const told: string[] = [];
    for (let at = 0; at <= 12; at += 1) {
      const timeMs = mondayMs + at * 5 * minuteMs;
      Object.assign(right.series, { calmValue: 26, calmMs: timeMs - agoMs });
      if (given.third !== undefined) {
        Object.assign(room.stream('temperature', 'third').series, { calmValue: given.third, calmMs: timeMs });
      }
      told.push(...judge(room, left, timeMs, 25).map((line) => line.replace(/^0/, `${at * 5}`)));
    }
    return { told, left, right, room };
  }

  test('that differ are told by both, before their hour, or with the wrong one blamed', () => {
    const { told, left, right, room } = pair(0);
    expect(told).toEqual(['60 raised probes_disagree']);
    expect(left.series.figures).toMatchObject({ difference: 1, oddProbe: 'right' });
    expect(judge(room, right, mondayMs + 61 * minuteMs, 26)).toEqual([]);
    expect(right.series.alarms[slots.disagree]).toBeNull();
    const three = pair(0, { third: 25.125 });
    expect(three.left.series.figures).toMatchObject({ difference: 1, oddProbe: 'right' });
  });

  test('of which one fell silent are held against each other', () => {
    expect(pair(15 * minuteMs).told).toHaveLength(1);
    expect(pair(15 * minuteMs + 1).told).toEqual([]);
    const never = standingRoom(bands, [], only());
    never.stream('temperature', 'right');
    expect(judge(never, never.stream('temperature', 'left'), mondayMs, ...Array<number>(20).fill(25))).toEqual([]);
    const off = pair(0, { overrides: [{ rule: 'probes_disagree', enabled: false }] });
    expect(off.told).toEqual([]);
  });
});

test('what one median tells is lost with the next', () => {
  const room = standingRoom(bands, [], only('rate'));
  const stream = room.stream('temperature');
  expect([25, 26, 26].flatMap((value, at) => judge(room, stream, mondayMs + at * 5 * minuteMs, value))).toEqual([
    '0 raised rate',
  ]);
  expect(stream.series.alarms[slots.rate]?.isTold).toBe(true);
});
