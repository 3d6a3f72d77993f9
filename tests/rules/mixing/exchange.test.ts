import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { exchangeByDay, largestExchangeInDay } from '#rules/mixing/exchange.ts';
import { afterWaterChange } from '#rules/mixing/mixed-water.ts';
import { OutOfRange } from '#rules/quantity/out-of-range.ts';

const number = (min: number, max: number) => fc.double({ min, max, noNaN: true });

describe('how much water to exchange', () => {
  // By hand: nitrate 40 to 30 with water of 0: a quarter of 200 L.
  it('exchanges 50 of 200 L to bring nitrate from 40 to 30', () => {
    const plan = exchangeByDay({ volumeL: 200, now: 40, target: 30, incoming: 0 });
    expect(plan).toEqual({ kind: 'plan', days: [{ exchangedL: 50, before: 40, after: 30 }], totalL: 50 });
  });

  // By hand: alkalinity 11 to 10 with water of 7, 0.5 a day: 400 × 0.5/4 = 50 L, then 400 × 0.5/3.5 = 57.1429 L.
  it('takes two days over a degree of alkalinity when half a degree a day is the limit', () => {
    const plan = exchangeByDay({ volumeL: 400, now: 11, target: 10, incoming: 7, mostPerDay: 0.5 });
    expect(plan).toMatchObject({
      kind: 'plan',
      days: [
        { exchangedL: 50, before: 11, after: 10.5 },
        { exchangedL: expect.closeTo(57.1429, 4), before: 10.5, after: 10 },
      ],
      totalL: expect.closeTo(107.1429, 4),
    });
  });

  it('says that no amount of this water gets there', () => {
    expect(exchangeByDay({ volumeL: 400, now: 11, target: 8, incoming: 9 })).toMatchObject({
      fault: 'incoming_does_not_reach',
    });
    expect(exchangeByDay({ volumeL: 400, now: 8, target: 9, incoming: 7 })).toMatchObject({
      fault: 'incoming_does_not_reach',
    });
    const stirred = { volumeL: 400, now: 8, target: 9, incoming: 9, method: 'continuous' } as const;
    expect(exchangeByDay(stirred)).toMatchObject({ fault: 'incoming_does_not_reach' });
    expect(exchangeByDay({ ...stirred, method: 'drain_then_fill' })).toMatchObject({ kind: 'plan', totalL: 400 });
  });

  it('says so when it would take more than a year', () => {
    const wish = { volumeL: 400, now: 400, target: 1, incoming: 0, mostPerDay: 1 };
    expect(exchangeByDay(wish)).toMatchObject({ fault: 'takes_too_long' });
  });

  it('ends at the target, day by day within the limit, by the very water change it asks for', () => {
    const wish = fc.record({
      volumeL: number(10, 5000),
      now: number(0, 50),
      incoming: number(0, 50),
      along: number(0, 0.9),
      mostPerDay: number(0.5, 20),
      mostShareOfVolume: number(0.1, 1),
      method: fc.constantFrom('drain_then_fill', 'continuous'),
    });
    fc.assert(
      fc.property(wish, ({ along, method: word, ...rest }) => {
        const method = word as 'drain_then_fill' | 'continuous';
        const target = rest.now + along * (rest.incoming - rest.now);
        fc.pre(Math.abs(rest.incoming - rest.now) > 1e-3);
        const plan = exchangeByDay({ ...rest, target, method });
        if (plan.kind === 'no_plan') throw new Error(plan.why);
        let nitrate = rest.now;
        for (const day of plan.days) {
          const after = afterWaterChange({ nitrate }, rest.volumeL, { nitrate: rest.incoming }, day.exchangedL, method)
            .nitrate!;
          expect(Math.abs(after - nitrate)).toBeLessThanOrEqual(rest.mostPerDay * (1 + 1e-9));
          expect(after).toBeCloseTo(day.after, 9);
          nitrate = after;
        }
        expect(nitrate).toBeCloseTo(target, 9);
      }),
    );
  });

  it('gives a plan of finite litres, a reason, or refuses, whatever is typed', () => {
    fc.assert(
      fc.property(fc.double(), fc.double(), fc.double(), fc.double(), (volumeL, now, target, incoming) => {
        try {
          const plan = exchangeByDay({ volumeL, now, target, incoming });
          if (plan.kind === 'plan') expect(plan.totalL).toSatisfy(Number.isFinite);
        } catch (error) {
          expect(error).toBeInstanceOf(OutOfRange);
        }
      }),
    );
  });

  // By hand: alkalinity 8 against 11: 0.5 of 3 is a sixth of 420 L, 70 L; salinity 35 against 34: 0.5 of 1 is a half.
  it('holds a water change to the metric that would move most', () => {
    const bands = {
      alkalinity: { low: 7.5, high: 9, mostPerDay: 0.5 },
      salinity: { low: 34, high: 36, mostPerDay: 0.5 },
    };
    const largest = largestExchangeInDay({ alkalinity: 8, salinity: 35 }, { alkalinity: 11, salinity: 34 }, bands, 420);
    expect(largest).toEqual({ exchangedL: expect.closeTo(70, 9), limitedBy: 'alkalinity' });
    const after = afterWaterChange({ alkalinity: 8 }, 420, { alkalinity: 11 }, largest.exchangedL);
    expect(after.alkalinity! - 8).toBeCloseTo(0.5, 12);
  });

  it('sets no limit where nothing is known to differ', () => {
    expect(
      largestExchangeInDay({ alkalinity: 8 }, {}, { alkalinity: { low: 7, high: 9, mostPerDay: 0.5 } }, 420),
    ).toEqual({ exchangedL: 420 });
  });
});
