import { describe, expect, it } from 'vitest';
import { type ExchangePlan, exchangeByDay, largestExchangeInDay } from '#rules/mixing/exchange.ts';
import { salinityCorrectionByDay, saltCautions } from '#rules/mixing/salinity-correction.ts';
import { saltStrengthFromBatches } from '#rules/mixing/salt-strength.ts';
import { OutOfRange } from '#rules/quantity/out-of-range.ts';

/** Litres of each day; fails for a plan that is none. */
function litres(plan: ExchangePlan): number[] {
  if (plan.kind === 'no_plan') throw new Error(plan.why);
  return plan.days.map(({ exchangedL }) => exchangedL);
}

describe('the share of a tank that is replaced in a day', () => {
  // By hand: a fifth a day leaves 40, 32, 25.6, 20.48; the last 0.48 of 20.48 is 2.34375 of 100 L.
  it('is more than the keeper allows', () => {
    const wish = { volumeL: 100, now: 40, target: 20, incoming: 0, mostShareOfVolume: 0.2 };
    expect(litres(exchangeByDay(wish))).toEqual([20, 20, expect.closeTo(20, 9), expect.closeTo(2.34375, 9)]);
    // In a stirred tank a fifth of the water is new after −100 × ln 0.8 = 22.3144 L.
    const stirred = litres(exchangeByDay({ ...wish, method: 'continuous' }));
    expect(stirred.slice(0, 3)).toEqual(Array(3).fill(expect.closeTo(22.3144, 4)));
  });

  // By hand: 0.999 of the tank is −100 × ln 0.001 = 690.776 L and leaves 0.04; from there to 0.001: −100 × ln 0.025 = 368.888 L.
  it('is all of a stirred tank, which takes water without end', () => {
    const plan = exchangeByDay({ volumeL: 100, now: 40, target: 0.001, incoming: 0, method: 'continuous' });
    expect(litres(plan)).toEqual([expect.closeTo(690.776, 3), expect.closeTo(368.888, 3)]);
  });

  it('is asked for on a fourth day for the last digit of a float, or on a day when nothing is to be done', () => {
    const plan = exchangeByDay({ volumeL: 400, now: 33.01, target: 33.31, incoming: 36, mostPerDay: 0.1 });
    expect(litres(plan)).toHaveLength(3);
    expect(exchangeByDay({ volumeL: 400, now: 35, target: 35, incoming: 0 })).toEqual({
      kind: 'plan',
      days: [],
      totalL: 0,
    });
  });
});

describe('the largest water change of a day', () => {
  const bands = {
    salinity: { low: 34, high: 36, mostPerDay: 0.5 },
    alkalinity: { low: 7.5, high: 9, mostPerDay: 0.5 },
    calcium: { low: 400, high: 450 },
  };

  // By hand: salinity by 5, of which 0.5 is a tenth: 42 of 420 L. Alkalinity by 1 would allow half.
  it('is set by the metric that comes last and not by the one that moves most', () => {
    const largest = largestExchangeInDay({ salinity: 35, alkalinity: 8 }, { salinity: 30, alkalinity: 9 }, bands, 420);
    expect(largest).toEqual({ exchangedL: expect.closeTo(42, 9), limitedBy: 'salinity' });
  });

  it('is refused or limited by what only one of the waters is known to hold, or by a band without a rate', () => {
    expect(largestExchangeInDay({ calcium: 420 }, { alkalinity: 12, calcium: 300 }, bands, 420)).toEqual({
      exchangedL: 420,
    });
  });

  it('is no number where the water may not move at all', () => {
    const still = { salinity: { low: 34, high: 36, mostPerDay: 0 } };
    expect(largestExchangeInDay({ salinity: 35 }, { salinity: 35 }, still, 420)).toEqual({ exchangedL: 420 });
    expect(largestExchangeInDay({ salinity: 35 }, { salinity: 34 }, still, 420)).toEqual({
      exchangedL: 0,
      limitedBy: 'salinity',
    });
  });
});

describe('a correction of salinity', () => {
  it('takes more than a year and is put down day by day', () => {
    const tank = { volumeL: 420, gramsPerLitreAt35: 38.5, salinityNow: 0 };
    expect(salinityCorrectionByDay({ ...tank, salinityTarget: 36.6 }, 0.1)).toHaveLength(366);
    expect(() => salinityCorrectionByDay({ ...tank, salinityTarget: 36.7 }, 0.1)).toThrow(OutOfRange);
  });

  it('is shown without the usual cautions', () => {
    expect(saltCautions.join(' ')).toMatch(/separate vessel.*never as dry salt.*measure.*Measure again/i);
  });
});

// By hand: 40 g/L gave 35, 36 and 37: slope 0.9, 38.8889 g/L. Residuals −1, 0, 1 at 0.1 each: χ² = 200 over two degrees of
// freedom; 0.1 × √100 / √4800 = 0.0144338, of 0.9 is 0.0160375; × 38.8889 = 0.623681.
it('a third batch makes the strength of a salt look surer than its scatter is', () => {
  const batch = { volumeL: 50, salt_g: 2000, salinitySd: 0.1 };
  const strength = saltStrengthFromBatches([35, 36, 37].map((salinity) => ({ ...batch, salinity })));
  expect(strength.gramsPerLitreAt35).toBeCloseTo(38.8889, 4);
  expect(strength.sd_g_L).toBeCloseTo(0.623681, 5);
});
