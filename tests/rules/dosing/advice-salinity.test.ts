import { describe, expect, it, test } from 'vitest';
import { adviseSalinity } from '#rules/dosing/advice-salinity.ts';
import type { SalinityAdviceInput, SalinityProbe } from '#rules/dosing/advice-salinity-level.ts';
import type { HoldBackRule } from '#rules/dosing/advice-types.ts';

const dayMs = 86_400_000;
const now = Date.UTC(2026, 5, 1, 8);

const probe: SalinityProbe = {
  ...{ level: 36.5, scatterSd: 0.03, ageMs: 60_000, isSuspect: false, temperatureAgeMs: 60_000, atLastTest: 36.5 },
  perDay: { low95: -0.03, middle: 0.01, high95: 0.05 },
};
/** An invented system of 400 L, band 34 to 36, at most 0.5 a day; probe and a test by a good meter both say 36.5. */
const salty: SalinityAdviceInput = {
  system: { volumeL: 400, band: { low: 34, high: 36, mostPerDay: 0.5 } },
  probe,
  lastTest: { timeMs: now - dayMs, value: 36.5, sd: 0.3 },
  driftPerDay: 0,
  nowMs: now,
};
const at = (level: number, change: Partial<SalinityAdviceInput> = {}): SalinityAdviceInput => ({
  ...salty,
  probe: { ...probe, level, atLastTest: level },
  lastTest: { timeMs: now - dayMs, value: level, sd: 0.3 },
  ...change,
});

describe('salinity above its band', () => {
  it('is brought down by the litres that pencil and paper give', () => {
    // By hand: 36.5 to 35 is 1.5, three days of 0.5. Day 1: 400 x 0.5 / 36.5 = 5.479 L, by jug 5.4 L: 36.5 x 5.4 / 400 = 0.49275,
    // so 36.00725. Day 2: 400 x 0.5 / 36.00725 = 5.554, 5.5 L: 0.49510, so 35.51215. Day 3: 0.5 again, 5.632, 5.6 L:
    // 0.49717, so 35.01498. Day 4: 0.01498 is 0.171 L: 0.1 L.
    const { kind, water, predicted } = adviseSalinity(salty);
    expect(kind).toBe('dose');
    expect(water?.do).toBe('exchange_for_fresh');
    expect(water?.litresOnDay).toEqual([5.4, 5.5, 5.6, 0.1]);
    expect(water?.changeOnDay[0]).toBeCloseTo(-0.49275, 5);
    expect(water?.changeOnDay[2]).toBeCloseTo(-0.49717, 4);
    expect(predicted?.withAdvice.at(-1)?.level).toBeCloseTo(35.0, 1);
    expect(predicted?.withoutAdvice.at(-1)?.level).toBeCloseTo(36.5, 6);
    expect(predicted!.chanceToLeaveWithout).toBeGreaterThan(0.9);
  });

  it('takes water out although water is missing', () => {
    // By hand: the same salt in more water, 400 x 36.5 / (400 + x) = 36 at x = 5.556 L, by jug 5.5 L.
    const { water } = adviseSalinity({ ...salty, isWaterLow: true });
    expect(water?.do).toBe('top_off_fresh');
    expect(water?.litresOnDay[0]).toBe(5.5);
    expect(water?.changeOnDay[0]).toBeCloseTo((400 * 36.5) / 405.5 - 36.5, 9);
  });
});

describe('salinity below its band', () => {
  it('a small lack is not mended by the top-off, which is the mildest', () => {
    // By hand: 33.8 to 35 is 1.2; the top-off brings at most 1 % of the water a day at 35, 0.35: 400 x 0.35 / 35 = 4 L of it with
    // 4 x 38 = 152 g of salt. Three such days are 1.05; the rest of 0.15 is 1.714 L, by jug 1.7 L.
    const { water, reason } = adviseSalinity(at(33.8));
    expect(water?.do).toBe('top_off_with_salt_water');
    expect(water?.litresOnDay).toEqual([4, 4, 4, 1.7]);
    expect(water?.saltGramsOnDay?.[0]).toBe(152);
    expect(reason).toContain('4 L of water of salinity 35');
  });

  it('a large lack throws ten kilograms of salt away with the water that is exchanged', () => {
    // By hand: 30 to 35 at 0.5 a day in 400 L: 400 x 0.5 x 38 / 35 = 217 g a day, 16 g to a litre drawn off; exchanges of 40 L
    // would take 1520 g a day.
    const { water } = adviseSalinity(at(30));
    expect(water?.do).toBe('salt_into_drawn_off');
    expect(water?.saltGramsOnDay?.[0]).toBe(217);
    expect(water?.litresOnDay[0]).toBeCloseTo(217 / 16, 0);
    expect(water?.changeOnDay[0]).toBeCloseTo(0.5, 2);
    expect(water?.changeOnDay[0]).toBeLessThanOrEqual(0.5);
  });
});

test('salinity that is right is corrected for the noise of its instruments', () => {
  for (const level of [34.6, 35, 35.4]) {
    const advice = adviseSalinity(at(level));
    expect(advice.kind).toBe('nothing');
    expect(advice.reason).toContain('Keep topping off with fresh water');
  }
});

test('the salts dosed are forgotten', () => {
  const { predicted, water } = adviseSalinity(at(33, { driftPerDay: 0.05 }));
  // Of 0.5 a day the doses take 0.05 already.
  expect(Math.max(...water!.changeOnDay)).toBeLessThanOrEqual(0.45 + 1e-9);
  expect(predicted?.sideEffects[0]).toMatchObject({ metric: 'salinity', perDay: 0.05 });
  expect(predicted?.withoutAdvice.at(-1)?.level).toBeCloseTo(33 + 7 * 0.05, 6);
});

test('probe and test count for nothing beside each other', () => {
  // By hand: probe sd = hypot(0.4, 0.3 of a calibration) = 0.5, test 0.5: halves. The test said 35 where the probe stood at 34.8,
  // and the probe has risen to 35.4 since: 35.6 now. (35.4 + 35.6) / 2 = 35.5, sd 0.5 / sqrt 2 = 0.354.
  const { probe: _, ...bare } = salty;
  const advice = adviseSalinity({
    ...bare,
    system: { volumeL: 400, band: { low: 33, high: 37 } },
    probe: { ...probe, level: 35.4, scatterSd: 0.4, atLastTest: 34.8 },
    lastTest: { timeMs: now - dayMs, value: 35, sd: 0.5 },
  });
  expect(advice.predicted?.withAdvice[0]?.level).toBeCloseTo(35.5, 6);
  expect(advice.predicted?.withAdvice[0]?.high95).toBeCloseTo(35.5 + 1.96 * 0.35355, 3);
});

const { probe: _probe, lastTest: _test, ...blind } = salty;
const withProbe = (change: Partial<SalinityProbe>): SalinityAdviceInput => ({
  ...salty,
  probe: { ...probe, ...change },
});
const heldBack: [string, HoldBackRule, SalinityAdviceInput][] = [
  ['nothing is known', 'no_salinity', blind],
  ['the probe fell silent and nobody tested', 'no_salinity', { ...blind, probe: { ...probe, ageMs: 3 * 3_600_000 } }],
  ['the last test is a month old', 'no_salinity', { ...blind, lastTest: { timeMs: now - 30 * dayMs, value: 36.5 } }],
  ['the probe is suspect', 'suspect_salinity', withProbe({ isSuspect: true })],
  ['no reef could live in it', 'suspect_salinity', at(12)],
  ['the temperature is old', 'stale_temperature', withProbe({ temperatureAgeMs: 2 * 3_600_000 })],
  ['probe and test disagree', 'probe_and_test_disagree', withProbe({ level: 38.5, atLastTest: 38.5 })],
  [
    'the top-off has failed',
    'evaporation_or_top_off_fault',
    withProbe({ perDay: { low95: 0.3, middle: 0.35, high95: 0.4 } }),
  ],
  [
    'the top-off runs on',
    'evaporation_or_top_off_fault',
    withProbe({ perDay: { low95: -0.6, middle: -0.5, high95: -0.4 } }),
  ],
  [
    'the test is worse than the band is wide',
    'interval_wider_than_band',
    { ...blind, lastTest: { timeMs: now, value: 37, sd: 1 } },
  ],
];
test.each(heldBack)('water is changed although %s', (_why, rule, input) => {
  const advice = adviseSalinity(input);
  expect(advice.kind).toBe('hold_back');
  expect(advice.holdBacks.map((each) => each.rule)).toContain(rule);
  expect(advice.water).toBeUndefined();
  expect(advice.reason.length).toBeGreaterThan(40);
});

test('the fall that was advised is taken for a fault of the top-off', () => {
  const falling = withProbe({ perDay: { low95: -0.6, middle: -0.5, high95: -0.4 } });
  expect(adviseSalinity({ ...falling, advisedPerDay: -0.49 }).kind).toBe('dose');
});
