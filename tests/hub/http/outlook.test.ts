import { describe, expect, test } from 'vitest';
import { type Level, outlookOfProbe } from '#hub/http/views/outlook.ts';

const hourMs = 3_600_000;
const now = Date.UTC(2026, 10, 25, 15);
const band = { low: 25, high: 26.5 };

/** A stream that is known exactly: means of ten minutes over six hours and of hours over two days. */
function streamOf(at: (hoursFromNow: number) => number): { recent: Level[]; hours: Level[] } {
  const every = (count: number, stepHours: number): Level[] =>
    Array.from({ length: count }, (_, index) => {
      const ahead = -(count - index - 0.5) * stepHours;
      return { time: now + ahead * hourMs, value: at(ahead) };
    });
  return { recent: every(36, 1 / 6), hours: every(48, 1) };
}

/** A heater that switches: the scatter of every quiet tank, without chance. */
const ripple = (hours: number) => 0.02 * Math.sin(hours * 17);

describe('where a probe is likely to go', () => {
  test('a heater that never stops is not foreseen, or for the wrong time', () => {
    const { recent, hours } = streamOf((t) => 25.5 + (t > -6 ? 0.1 * (t + 6) : 0) + ripple(t));
    const outlook = outlookOfProbe(recent, hours, band, now);
    // 26.1 °C now and 0.1 °C an hour: the edge at 26.5 °C is 4 h away on the straight line, a little more as the trend fades.
    expect(outlook?.leavesBy).toBe('high');
    expect(((outlook?.leavesAt ?? 0) - now) / hourMs).toBeGreaterThan(3.5);
    expect(((outlook?.leavesAt ?? 0) - now) / hourMs).toBeLessThan(5.5);
    expect(outlook?.perDay).toBeCloseTo(2.4, 0);
  });

  test('a heater that has failed an hour ago is taken for the usual scatter', () => {
    const { recent, hours } = streamOf((t) => 25.7 + (t > -1.2 ? 0.4 * (t + 1.2) : 0) + ripple(t));
    const outlook = outlookOfProbe(recent, hours, band, now);
    // 26.18 °C now and 0.4 °C an hour: under an hour to the edge, a little more as the median lags.
    expect(outlook?.leavesBy).toBe('high');
    expect(((outlook?.leavesAt ?? 0) - now) / hourMs).toBeGreaterThan(0.5);
    expect(((outlook?.leavesAt ?? 0) - now) / hourMs).toBeLessThan(2);
  });

  test('a quiet tank is said to leave its band', () => {
    const { recent, hours } = streamOf((t) => 25.7 + ripple(t));
    const outlook = outlookOfProbe(recent, hours, band, now);
    expect(outlook).toMatchObject({ leavesAt: null, mayLeaveAt: null, perDay: 0 });
    const last = outlook?.points.at(-1);
    expect(last?.low).toBeLessThan(last?.level ?? 0);
    expect(last?.high).toBeGreaterThan(last?.level ?? 0);
  });

  test('a pH that rises every morning is said to rise for two days', () => {
    const { recent, hours } = streamOf((t) => 8.2 + 0.15 * Math.sin((2 * Math.PI * t) / 24) + ripple(t) / 10);
    const outlook = outlookOfProbe(recent, hours, { low: 7.9, high: 8.5 }, now);
    expect(outlook?.leavesAt).toBeNull();
    for (const { time, level } of outlook?.points ?? [])
      expect(Math.abs(level - (8.2 + 0.15 * Math.sin((2 * Math.PI * (time - now)) / (24 * hourMs))))).toBeLessThan(
        0.04,
      );
  });

  test('one wild reading makes a trend', () => {
    const { recent, hours } = streamOf((t) => 25.7 + ripple(t));
    const wild = recent.map((each, index) => (index === 30 ? { ...each, value: 39 } : each));
    expect(outlookOfProbe(wild, hours, band, now)).toMatchObject({ leavesAt: null, perDay: 0 });
  });

  test('a probe that is silent, or that has just begun, is foreseen all the same', () => {
    const { recent, hours } = streamOf(() => 25.7);
    expect(outlookOfProbe(recent, hours, band, now + 3 * hourMs)).toBeNull();
    expect(outlookOfProbe(recent.slice(-4), [], band, now)).toBeNull();
    expect(outlookOfProbe([], [], band, now)).toBeNull();
  });

  test('the outlook of a young probe reaches further than its record', () => {
    const { recent, hours } = streamOf((t) => 25.7 + ripple(t));
    const outlook = outlookOfProbe(recent, hours.slice(-9), band, now);
    const reach = ((outlook?.points.at(-1)?.time ?? 0) - now) / hourMs;
    expect(reach).toBeGreaterThan(0);
    expect(reach).toBeLessThanOrEqual(9);
  });
});
