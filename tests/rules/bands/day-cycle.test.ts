import { describe, expect, test } from 'vitest';
import { addToDayCycle, distanceFromUsual, emptyDayCycle, hourlyMedian, usualAt } from '#rules/bands/day-cycle.ts';
import { walkOf } from '#rules/bands/kinds/drift.ts';
import { hourMs, minuteMs, mondayMs } from './script.ts';

/** What is remembered of one stream, and what is made of it at the edges. Limits: common practice, no published source. */

describe('the habit of the day', () => {
  /** Feeds five-minute medians of whole days; `value(day, hour)`. */
  function learned(days: number, value: (day: number, hour: number) => number | undefined) {
    const cycle = emptyDayCycle();
    for (let hour = 0; hour <= days * 24; hour += 1) {
      const usual = value(Math.floor(hour / 24), hour % 24);
      if (usual === undefined) continue;
      // The middle one of three is the value itself.
      for (const [at, off] of [0.02, 0, -0.5].entries()) {
        addToDayCycle(cycle, usual + off, mondayMs + hour * hourMs + at * 5 * minuteMs);
      }
    }
    return cycle;
  }
  const start = mondayMs / hourMs;

  test('is spoken of before three days are known, or of days that were not heard', () => {
    const plain = (days: number) => learned(days, (_, hour) => 35 + hour / 100);
    expect(plain(2).knownDays).toBe(2);
    expect(distanceFromUsual(plain(2), 36, mondayMs + 50 * hourMs)).toBeUndefined();
    expect(plain(3).knownDays).toBe(3);
    expect(distanceFromUsual(plain(3), 36, mondayMs + 74 * hourMs)).toBeCloseTo(36 - 35.03, 12);
    expect(plain(9).knownDays).toBe(7);
    // Six hours a day, every day: each of them is known, and not one day.
    const seldom = learned(7, (_, hour) => (hour < 6 || hour === 12 ? 35 : undefined));
    expect(usualAt(seldom, start + 3)).toBe(35);
    expect(distanceFromUsual(seldom, 36, mondayMs + (7 * 24 + 3) * hourMs)).toBeUndefined();
    // A day of eleven hours does not count, one of twelve does.
    const short = (hours: number) => learned(4, (day, hour) => (day === 1 && hour >= hours ? undefined : 35));
    expect(short(11).knownDays).toBe(3);
    expect(short(12).knownDays).toBe(4);
  });

  test('holds a value against its own hour alone, or loses the side on which it lies', () => {
    const cycle = learned(7, (_, hour) => 35 + hour / 100);
    const at = (value: number, hour: number) => distanceFromUsual(cycle, value, mondayMs + (7 * 24 + hour) * hourMs);
    expect(at(35.11, 10)).toBe(0);
    expect(at(35.09, 10)).toBe(0);
    expect(at(35.2, 10)).toBeCloseTo(0.09, 12);
    expect(at(35, 10)).toBeCloseTo(-0.09, 12);
    // Around midnight the hours of either side of it count: 35.23, 35.00 and 35.01.
    expect(at(35.2, 0)).toBe(0);
    expect(at(35.25, 0)).toBeCloseTo(0.02, 12);
    expect(at(34.9, 0)).toBeCloseTo(-0.1, 12);
  });

  test('is made from fewer than three days of an hour', () => {
    const cycle = learned(4, (day, hour) => (hour === 10 && day < 2 ? undefined : 35));
    expect(usualAt(cycle, start + 10)).toBeUndefined();
    expect(usualAt(cycle, start + 12)).toBe(35);
    expect(distanceFromUsual(cycle, 36, mondayMs + 106.5 * hourMs)).toBeUndefined();
    expect(distanceFromUsual(cycle, 36, mondayMs + 109 * hourMs)).toBe(1);
    const three = learned(4, (day, hour) => (hour === 10 && day < 1 ? undefined : 35));
    expect(usualAt(three, start + 10)).toBe(35);
  });

  test('takes one odd day for the usual, or shows no scatter', () => {
    const cycle = learned(7, (day) => 35 + [0, 0.01, -0.01, 0.02, -0.02, 0.03, 5][day % 7]!);
    expect(usualAt(cycle, start)).toBeCloseTo(35.01, 12);
    // Deviations from 35.01: 0.01, 0, 0.02, 0.01, 0.03, 0.02, 4.99; their median 0.02 times 1.4826 (normal distribution).
    expect(cycle.spread).toBeCloseTo(0.02 * 1.4826, 9);
  });

  test('of few values leans to one side, or counts hours that too few days know', () => {
    // Days at 0, 0.1, 0.2 and 0.4 above 35: the middle is 0.15, the deviations 0.15, 0.05, 0.05, 0.25, their middle 0.1.
    const above = [0, 0.1, 0.2, 0.4];
    const spread = (value: (day: number, hour: number) => number | undefined) => learned(4, value).spread;
    expect(spread((day) => 35 + above[day % 4]!)).toBeCloseTo(0.1 * 1.4826, 9);
    expect(spread((day, hour) => (hour === 10 && day < 2 ? undefined : 35 + above[day % 4]!))).toBeCloseTo(
      0.1 * 1.4826,
      9,
    );
  });

  test('moves while the day runs, with what a fault makes of it', () => {
    const cycle = learned(3, (day) => 35 + day / 10);
    expect(usualAt(cycle, start)).toBeCloseTo(35.1, 12);
    for (let hour = 73; hour < 96; hour += 1) addToDayCycle(cycle, 40, mondayMs + hour * hourMs);
    expect(usualAt(cycle, start + 5)).toBeCloseTo(35.1, 12);
    addToDayCycle(cycle, 40, mondayMs + 96 * hourMs);
    expect(usualAt(cycle, start + 5)).toBeCloseTo(35.15, 12);
  });

  test('keeps hours of a week ago where nothing came, or tells an hour twice', () => {
    const cycle = learned(7, (day) => 35 + day);
    expect(hourlyMedian(cycle, start)).toBe(35);
    expect(hourlyMedian(cycle, start + 6 * 24 + 23)).toBe(41);
    // The probe is away from the first hour of the eighth day until its fifth.
    expect(addToDayCycle(cycle, 50, mondayMs + (7 * 24 + 0.9) * hourMs)).toBe(false);
    expect(addToDayCycle(cycle, 50, mondayMs + (7 * 24 + 5) * hourMs)).toBe(true);
    // The hour of midnight was running: the median of 41.5, 42, 42.02 and 50.
    expect(hourlyMedian(cycle, start + 7 * 24)).toBeCloseTo(42.01, 9);
    expect([1, 2, 3, 4, 5].map((hour) => hourlyMedian(cycle, start + 7 * 24 + hour))).toEqual([
      ...Array(4).fill(undefined),
      // Still a week old: this hour has not ended.
      35,
    ]);
    addToDayCycle(cycle, 50, mondayMs + 60 * 24 * hourMs);
    expect(cycle.week.every((value) => value === null)).toBe(true);
    expect(cycle.knownDays).toBe(0);
  });

  test('grows in memory within an hour', () => {
    const cycle = emptyDayCycle();
    for (let at = 0; at < 60; at += 1) addToDayCycle(cycle, at, mondayMs + at * minuteMs);
    expect(cycle.medians).toHaveLength(12);
  });

  test('begins with a table of another shape than a week of hours', () => {
    expect(emptyDayCycle().week).toHaveLength(7 * 24);
    expect(emptyDayCycle().medians).toEqual([]);
    // And with an hour that has ended although it has just begun.
    expect(addToDayCycle(emptyDayCycle(), 35, mondayMs)).toBe(false);
    expect(emptyDayCycle().usual).toEqual(Array(24).fill(null));
  });

  describe('and a slow walk', () => {
    const band = { low: 34, high: 36 };
    /** Seven quiet days at 35 and a day that walks by so much an hour, with so many of its hours heard. */
    function walked(perHour: number, isHeard: (hour: number) => boolean = () => true, jitter = 0, within = band) {
      const cycle = learned(8, (day, hour) => {
        if (day !== 7) return 35;
        return isHeard(hour) ? 35 + perHour * (hour + 1) + jitter * (hour % 2) : undefined;
      });
      return walkOf(cycle, within, start + 7 * 24 + 23);
    }

    test('is not told by its own slope, or by when it leaves', () => {
      // Theil (1950), Sen (1968): on a straight line every pair has the same slope.
      const up = walked(0.02)!;
      expect(up.perDay).toBeCloseTo(0.48, 9);
      // 35.48 after the day; the edge of 36 is passed within the 27th hour.
      expect(up.hoursToLeave).toBe(27);
      const down = walked(-0.02)!;
      expect(down.perDay).toBeCloseTo(-0.48, 9);
      expect(down.hoursToLeave).toBe(27);
      // 35.264 and 0.011 an hour: 67 hours. At 0.01 an hour 76 hours: beyond three days nothing is said.
      expect(walked(0.011)!.hoursToLeave).toBe(67);
      // On the edge itself it is still inside: 35 + 64 / 64 after 40 hours, and 41 to pass it.
      expect(walked(1 / 64)!.hoursToLeave).toBe(41);
      expect(walked(-1 / 64)!.hoursToLeave).toBe(41);
      // The last of three days counts, the hour after it does not.
      expect(walked(0.01045)!.hoursToLeave).toBe(72);
      expect(walked(0.0104)!.hoursToLeave).toBeNull();
      const far = walked(0.01)!;
      expect(far.hoursToLeave).toBeNull();
      expect(far.perDay).toBeCloseTo(0.24, 9);
    });

    test('that has not covered a tenth of the band is told', () => {
      // A tenth of 2 is 0.2; 24 hours of 0.008 are 0.192, of 0.0084 are 0.2016.
      expect(walked(0.008)).toEqual({ perDay: 0, hoursToLeave: null });
      expect(walked(0.0084)!.perDay).toBeCloseTo(0.2016, 9);
      // Just a tenth of a band of 2.5: not yet.
      expect(walked(0.25 / 24, undefined, 0, { low: 34, high: 36.5 })).toEqual({ perDay: 0, hoursToLeave: null });
    });

    test('is judged on fewer than eighteen hours, or without the last', () => {
      expect(walked(0.02, (hour) => hour >= 6)!.hoursToLeave).toBe(27);
      expect(walked(0.02, (hour) => hour >= 7)).toBeUndefined();
      expect(walked(0.02, (hour) => hour !== 23)).toBeUndefined();
    });

    test('is told of what only scatters, or of water that comes back', () => {
      // Up and down by turns, half a unit: the pairs do not agree on a direction.
      expect(walked(0, undefined, 0.5)).toEqual({ perDay: 0, hoursToLeave: null });
      // High above its usual and on the way back.
      const back = walkOf(
        learned(8, (day, hour) => (day < 7 ? 35 : 35.9 - 0.02 * hour)),
        band,
        start + 7 * 24 + 23,
      )!;
      expect(back.hoursToLeave).toBeNull();
      expect(back.perDay).toBeCloseTo(-0.48, 9);
      const under = walkOf(
        learned(8, (day, hour) => (day < 7 ? 35 : 34.1 + 0.02 * hour)),
        band,
        start + 7 * 24 + 23,
      )!;
      expect(under.hoursToLeave).toBeNull();
      expect(under.perDay).toBeCloseTo(0.48, 9);
    });

    test('that has come to a stand outside, or comes back so fast that it would pass the other edge, is told to leave', () => {
      const of = (value: (hour: number) => number) =>
        walkOf(
          learned(8, (day, hour) => (day === 7 ? value(hour) : 35)),
          band,
          start + 7 * 24 + 23,
        );
      expect(of(() => 33.9)!.hoursToLeave).toBeNull();
      expect(of(() => 36.1)!.hoursToLeave).toBeNull();
      expect(of((hour) => 35.96 - 0.03 * hour)!.hoursToLeave).toBeNull();
      expect(of((hour) => 34.04 + 0.03 * hour)!.hoursToLeave).toBeNull();
    });

    test.each([0.02, -0.02])('by %s an hour is not the slope that four in five pairs exceed', (perHour) => {
      // Twenty noisy hours: 190 pairs, by Sen (1968) each with its slope.
      const value = (hour: number) => 35 + perHour * (hour + 1) + 0.004 * ((hour * 7) % 11) + 0.0001 * hour * hour;
      const cycle = learned(8, (day, hour) => (day === 7 ? (hour < 4 ? undefined : value(hour)) : 35));
      const slope = walkOf(cycle, band, start + 7 * 24 + 23)!.perDay / 24;
      const slopes: number[] = [];
      for (let a = 4; a < 24; a += 1) {
        for (let b = a + 1; b < 24; b += 1) slopes.push((value(b) - value(a)) / (b - a));
      }
      expect(slopes).toHaveLength(190);
      const steeper = slopes.filter((each) => Math.abs(each) > Math.abs(slope) + 1e-9 && each * slope > 0).length;
      const flatter = slopes.filter((each) => Math.abs(each) < Math.abs(slope) - 1e-9 || each * slope < 0).length;
      // 0.8 x 190 = 152 are steeper; by the rank below it, so that it is never less cautious.
      expect([steeper, flatter]).toEqual([152, 37]);
    });

    test('takes the median of the slopes where four in five pairs say less', () => {
      // Alternating hours around a rise of 0.02: the cautious slope lies below the plain one and above 0.
      const cautious = walked(0.02, undefined, 0.03)!;
      expect(cautious.perDay).toBeGreaterThan(0);
      expect(cautious.perDay).toBeLessThan(0.47);
      const falling = walked(-0.02, undefined, 0.03)!;
      expect(falling.perDay).toBeLessThan(0);
      expect(falling.perDay).toBeGreaterThan(-0.47);
    });

    test('that other days have seen is told', () => {
      // Quiet days that differ by 0.1: the scatter is 1.4826 x 0.1, and four of it are 0.59.
      const weather = learned(8, (day, hour) =>
        day < 7 ? 35 + [0, 0.1, -0.1, 0.1, -0.1, 0.1, -0.1][day]! : 35 + 0.02 * (hour + 1),
      );
      expect(walkOf(weather, band, start + 7 * 24 + 23)).toEqual({ perDay: 0, hoursToLeave: null });
    });

    test('is held against a day whose usual hours are not known', () => {
      const gappy = learned(8, (day, hour) => {
        // Of seven hours nothing is known at all: too few are left.
        if (hour >= 4 && hour < 11) return undefined;
        return day < 7 ? 35 : 35 + 0.02 * (hour + 1);
      });
      expect(walkOf(gappy, band, start + 7 * 24 + 23)).toBeUndefined();
      // Hours that are heard today for the first time have no usual value either.
      const fresh = learned(8, (day, hour) => {
        if (day !== 7) return hour >= 4 && hour < 11 ? undefined : 35;
        return 35 + 0.02 * (hour + 1);
      });
      expect(walkOf(fresh, band, start + 7 * 24 + 23)).toBeUndefined();
      const few = learned(8, (day, hour) => {
        if (hour >= 1 && hour < 5) return undefined;
        return day < 7 ? 35 : 35 + 0.02 * (hour + 1);
      });
      // The 27th hour is one of those that nobody knows: said of the next that is.
      expect(walkOf(few, band, start + 7 * 24 + 23)!.hoursToLeave).toBe(30);
    });
  });
});
