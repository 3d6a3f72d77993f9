import { describe, expect, test } from 'vitest';
import { type ExchangePlan, exchangeByDay, largestExchangeInDay } from '#rules/mixing/exchange.ts';
import { mix, shareReplaced } from '#rules/mixing/mixed-water.ts';
import { correctSalinity, salinityCorrectionByDay } from '#rules/mixing/salinity-correction.ts';
import { saltForBatch, saltStrengthFromBatches } from '#rules/mixing/salt-strength.ts';
import { type Asked, expectLimits, refusalOf } from '../refusal-of.ts';

const wish = { volumeL: 100, now: 40, target: 20, incoming: 0 };
const correction = { volumeL: 100, salinityNow: 33, salinityTarget: 35, gramsPerLitreAt35: 38 };
const still = { ...correction, salinityTarget: 33 };
const batch = { volumeL: 20, salt_g: 760, salinity: 35, salinitySd: 0.3 };
const strength = { gramsPerLitreAt35: 38, sd_g_L: 0.5 };
const byBatch = (change: Partial<typeof batch>) => saltStrengthFromBatches([{ ...batch, ...change }]);

/** The limits are those of the docstrings. */
const asked: Asked[] = [
  ['volume of a tank', (volumeL) => exchangeByDay({ ...wish, volumeL }), 'volume, L', 0.1, 1e7],
  ['new water', (incoming) => exchangeByDay({ ...wish, incoming }), 'incoming water', -1e6, 1e6],
  ['target', (target) => exchangeByDay({ ...wish, target }), 'target', -1e6, 1e6],
  ['level now', (now) => exchangeByDay({ ...wish, now }), 'now', -1e6, 1e6],
  ['rate', (mostPerDay) => exchangeByDay({ ...wish, mostPerDay }), 'most change in a day', 1e-9, 1e9],
  [
    'share',
    (mostShareOfVolume) => exchangeByDay({ ...wish, mostShareOfVolume }),
    ...(['most of the tank in a day', 1e-3, 1] as const),
  ],
  ['volume that is changed', (value) => largestExchangeInDay({}, {}, {}, value), 'volume, L', 0.1, 1e7],
  [
    'rate of calcium',
    (mostPerDay) =>
      largestExchangeInDay({ calcium: 400 }, { calcium: 450 }, { calcium: { low: 0, high: 1, mostPerDay } }, 100),
    ...(['most of calcium in a day', 0, 1e6] as const),
  ],
  ['one water', (value) => mix({}, value, {}, 1), 'volume, L', 0, 1e7],
  ['other water', (value) => mix({}, 1, {}, value), 'volume, L', 0, 1e7],
  ['volume exchanged in', (value) => shareReplaced(value, 0, 'drain_then_fill'), 'volume, L', 0.1, 1e7],
  ['exchange', (value) => shareReplaced(100, value, 'drain_then_fill'), 'exchanged, L', 0, 100],
  ['stirred exchange', (value) => shareReplaced(100, value, 'continuous'), 'exchanged, L', 0, 10_000],
  ['volume corrected', (volumeL) => correctSalinity({ ...correction, volumeL }), 'volume, L', 0.1, 1e6],
  ['salinity now', (salinityNow) => correctSalinity({ ...correction, salinityNow }), 'salinity now', 0, 60],
  ['salinity wanted', (value) => correctSalinity({ ...correction, salinityTarget: value }), 'salinity target', 0, 45],
  ['salt', (value) => correctSalinity({ ...correction, gramsPerLitreAt35: value }), 'salt at 35, g/L', 20, 60],
  // Also where nothing is to be corrected: a limit that is none is told before it is needed.
  ['rate of a correction', (value) => salinityCorrectionByDay(still, value), 'most change in a day', 0.01, 10],
  ['volume of a batch', (volumeL) => byBatch({ volumeL, salt_g: volumeL > 1 ? 38e6 : 3.8 }), 'volume, L', 0.1, 1e6],
  ['salinity of a batch', (salinity) => byBatch({ salinity }), 'salinity of a batch', 1, 60],
  ['doubt of a batch', (salinitySd) => byBatch({ salinitySd }), 'standard uncertainty of a salinity', 1e-3, 10],
  ['strength', (value) => saltForBatch(10, 35, { ...strength, gramsPerLitreAt35: value }), 'salt at 35, g/L', 20, 60],
  [
    'doubt of a salt',
    (sd_g_L) => saltForBatch(10, 35, { ...strength, sd_g_L }),
    'standard uncertainty of the salt, g/L',
    0,
    60,
  ],
  ['salinity of new water', (value) => saltForBatch(10, value, strength), 'salinity target', 0, 45],
  ['volume of new water', (value) => saltForBatch(value, 35, strength), 'volume, L', 0.1, 1e6],
];

/** Refusals whose limits are no closed range, word for word. */
const told: [string, () => unknown, string][] = [
  ['two waters of no volume', () => mix({}, 0, {}, 0), 'mixed volume, L is 0, allowed: above 0'],
  ['no batch', () => saltStrengthFromBatches([]), 'number of batches is 0, allowed: 1 or more'],
  ['a batch like brine', () => byBatch({ volumeL: 1, salt_g: 201 }), 'salt, g/L is 201, allowed: 1 to 200'],
  ['a batch like a river', () => byBatch({ volumeL: 1, salt_g: 0.9 }), 'salt, g/L is 0.9, allowed: 1 to 200'],
  ['a batch of a grain', () => byBatch({ salt_g: 0.0009 }), 'salt, g is 0.0009, allowed: 0.001 to 1000000000'],
  [
    'a year of corrections',
    () => salinityCorrectionByDay({ ...correction, salinityNow: 31 }, 0.01),
    'days of the correction is 400, allowed: up to 366',
  ],
  [
    'a tank beyond any number',
    () => mix({ calcium: Number.POSITIVE_INFINITY }, 1, { calcium: 400 }, 1),
    `calcium is Infinity, allowed: ${-Number.MAX_VALUE} to ${Number.MAX_VALUE}`,
  ],
];

describe('a number that nothing can be mixed from', () => {
  test.each(asked)('%s: what is beyond the limits is worked with, or refused without a word why', (...each) => {
    expectLimits(each);
  });

  test.each(told)('%s: is worked with, or refused without a word why', (_what, ask, message) => {
    expect(refusalOf(ask).message).toBe(message);
  });
});

const noPlan = (plan: ExchangePlan) => {
  if (plan.kind !== 'no_plan') throw new Error('there is a plan');
  return plan.why;
};

describe('an exchange of water', () => {
  test('that leads nowhere is not explained', () => {
    expect(noPlan(exchangeByDay({ ...wish, incoming: 30 }))).toBe(
      'The new water holds 30: exchanging it cannot bring 40 to 20. Use other water, or dose.',
    );
    // By hand: 366 days of 0.01 of 20.
    expect(noPlan(exchangeByDay({ ...wish, mostPerDay: 0.01 }))).toBe(
      'After 366 days it would be 36.34. Use water that is further from the tank.',
    );
  });

  // By hand, phosphate: 0.1 to 0.05 mg/L at 0.01 a day by water without any: 0.01 / 0.1 of 100 L, then 0.01 / 0.09 and so on.
  test('of what is counted in hundredths ends on its first day', () => {
    const plan = exchangeByDay({ volumeL: 100, now: 0.1, target: 0.05, incoming: 0, mostPerDay: 0.01 });
    if (plan.kind !== 'plan') throw new Error(plan.why);
    const litres = [10, 11.1111, 12.5, 14.2857, 16.6667].map((each) => expect.closeTo(each, 3));
    expect(plan.days.map(({ exchangedL }) => exchangedL)).toEqual(litres);
    expect(plan.days.at(-1)?.after).toBe(0.05);
  });

  test('names a metric that limits it where none does', () => {
    expect(largestExchangeInDay({}, {}, {}, 420)).toStrictEqual({ exchangedL: 420 });
  });
});

test('a correction by days ends beside the salinity that was asked for', () => {
  const days = salinityCorrectionByDay({ ...correction, salinityNow: 0, salinityTarget: 0.42 }, 0.1);
  expect([days.length, days.at(-1)?.salinityAfter]).toEqual([5, 0.42]);
  expect(salinityCorrectionByDay(still, 0.5)).toEqual([]);
});
