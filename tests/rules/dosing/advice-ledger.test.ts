import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { adviseDose } from '#rules/dosing/advice.ts';
import { dayLedger } from '#rules/dosing/day-ledger.ts';
import { handRhythmPerDay } from '#rules/dosing/hand-rhythm.ts';
import { dayMs, example, now, withEstimate } from './advice-case.ts';

describe('the most of a day', () => {
  it('is not forgotten once a dose is logged', () => {
    // The keeper asks, gives, logs and asks again, all within a minute.
    let given: { timeMs: number; rise: number }[] = [];
    let level = 7.2;
    for (let i = 0; i < 6; i++) {
      const advice = adviseDose({ ...withEstimate({ level }), given, nowMs: now + i * 1000 });
      const rise = advice.today.reduce((sum, each) => sum + each.risePerDay, 0);
      level += rise;
      if (rise > 0) given = [...given, { timeMs: now + i * 1000, rise }];
    }
    const inAll = given.reduce((sum, { rise }) => sum + rise, 0);
    expect(inAll).toBeGreaterThan(0.1);
    // The plan gives what is used; on top at most 0.5 in all, and what is uncertain of the use.
    expect(inAll).toBeLessThanOrEqual(0.5);
  });

  it('what was given beyond it is named, and nothing comes on top', () => {
    const advice = adviseDose({ ...withEstimate({ level: 7.3 }), given: [{ timeMs: now - 3_600_000, rise: 1.4 }] });
    expect(advice.today).toEqual([]);
    expect(advice.cautions.join(' ')).toContain('more than a day should');
  });

  it('holds in every 24 hours, whatever was given before', () => {
    const amount = fc.double({ min: 0, max: 1, noNaN: true });
    const spans = fc.array(fc.record({ hoursAgo: fc.double({ min: 0, max: 30, noNaN: true }), rise: amount }), {
      maxLength: 8,
    });
    fc.assert(
      fc.property(spans, amount, amount, amount, (doses, planPerDay, used, next) => {
        const given = doses
          .map(({ hoursAgo, rise }) => ({ timeMs: now - hoursAgo * 3_600_000, rise }))
          .sort((a, b) => a.timeMs - b.timeMs);
        const planned = [{ fromMs: now - dayMs, toMs: now, risePerDay: planPerDay }];
        const ledger = dayLedger({ given, planned, nowMs: now }, 0.5, used);
        const single = ledger.mostSingle(next);
        if (single <= 0) return;
        // Every span of 24 hours around now, by brute force.
        for (let begin = 0; begin <= 24; begin += 0.25) {
          const fromMs = now - begin * 3_600_000;
          const before = given
            .filter(({ timeMs }) => timeMs >= fromMs && timeMs > now - dayMs)
            .reduce((sum, { rise }) => sum + rise, 0);
          const total = before + (planPerDay * begin) / 24 + single + (next * (24 - begin)) / 24;
          expect(total).toBeLessThanOrEqual(0.5 + used + 1e-6 + planPerDay / 96);
        }
      }),
      { numRuns: 500, seed: 12 },
    );
  });
});

describe('what is given by hand', () => {
  const daily = (days: number, amount = 20) =>
    Array.from({ length: days }, (_, i) => ({ timeMs: now - i * dayMs - 3_600_000, amount }));

  it('a dose each day is a rhythm and counts like a plan', () => {
    expect(handRhythmPerDay(daily(8), now)).toBeCloseTo(20, 6);
    // Every other day 20 is 10 a day.
    const everyOther = Array.from({ length: 7 }, (_, i) => ({ timeMs: now - 2 * i * dayMs, amount: 20 }));
    expect(handRhythmPerDay(everyOther, now)).toBeCloseTo(10, 6);
    // A machine that logs each of its twelve doses a day.
    const machine = Array.from({ length: 12 * 8 }, (_, i) => ({ timeMs: now - (i * dayMs) / 12, amount: 2 }));
    expect(handRhythmPerDay(machine, now)).toBeGreaterThan(20);
    expect(handRhythmPerDay(machine, now)).toBeLessThan(28);
  });

  it('a correction over three days is none, nor one large dose, nor what ended days ago', () => {
    expect(handRhythmPerDay(daily(3), now)).toBe(0);
    expect(handRhythmPerDay([{ timeMs: now, amount: 400 }], now)).toBe(0);
    expect(handRhythmPerDay(daily(8), now + 4 * dayMs)).toBe(0);
    expect(handRhythmPerDay([...daily(8), { timeMs: now, amount: 500 }], now)).toBe(0);
  });
});

it('a dose for each day is not counted twice, as the rhythm and as given', () => {
  const advice = adviseDose({
    ...example,
    stocks: [{ ...example.stocks[0]!, planPerDay: 0, byHandPerDay: example.stocks[0]!.planPerDay }],
  });
  expect(advice.kind).toBe('nothing');
});
