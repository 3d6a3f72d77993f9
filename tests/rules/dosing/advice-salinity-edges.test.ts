import { describe, expect, test } from 'vitest';
import { adviseSalinity } from '#rules/dosing/advice-salinity.ts';
import type { SalinityAdviceInput, SalinityProbe } from '#rules/dosing/advice-salinity-level.ts';

const dayMs = 86_400_000;
const hourMs = 3_600_000;
const now = Date.UTC(2026, 5, 1, 8);
const probe: SalinityProbe = {
  ...{ level: 36.5, scatterSd: 0.03, ageMs: 60_000, isSuspect: false, temperatureAgeMs: 60_000, atLastTest: 36.5 },
  perDay: { low95: -0.03, middle: 0.01, high95: 0.05 },
};

/** An invented system of 400 L, band 34 to 36, at most 0.5 a day; probe and a test by a good meter agree. */
function at(level: number, change: Partial<SalinityAdviceInput> = {}): SalinityAdviceInput {
  return {
    system: { volumeL: 400, band: { low: 34, high: 36, mostPerDay: 0.5 } },
    probe: { ...probe, level, atLastTest: level },
    lastTest: { timeMs: now - dayMs, value: level, sd: 0.3 },
    driftPerDay: 0,
    nowMs: now,
    ...change,
  };
}
/** A test alone, some days old. */
function testedOnly(daysAgo: number, sd = 0.3, band = { low: 32, high: 38 }): SalinityAdviceInput {
  const { probe: _, ...bare } = at(35, { system: { volumeL: 400, band } });
  return { ...bare, lastTest: { timeMs: now - daysAgo * dayMs, value: 35, sd } };
}
const seen = (change: Partial<SalinityProbe>, more: Partial<SalinityAdviceInput> = {}): SalinityAdviceInput =>
  at(36.5, { probe: { ...probe, ...change }, ...more });
const why = (input: SalinityAdviceInput): string[] => adviseSalinity(input).holdBacks.map(({ rule }) => rule);
const working = (input: SalinityAdviceInput): string => adviseSalinity(input).working.join('\n');

describe('advice on salinity', () => {
  test('is stored as another than was told, says a thing that is no sentence, or is of another metric', () => {
    const { probe: _, lastTest: __, ...blind } = at(35);
    const everyKind = [at(36.5), at(35), at(33.8), at(30), at(36.5, { isWaterLow: true }), at(12), blind];
    for (const input of [...everyKind, at(34.4, { driftPerDay: 0.02 })]) {
      const advice = adviseSalinity(input);
      expect(JSON.parse(JSON.stringify(advice))).toStrictEqual(advice);
      expect(advice.analyte).toBe('salinity');
      const effects = advice.predicted?.sideEffects.map(({ text }) => text) ?? [];
      for (const line of [advice.reason, advice.sure.text, ...advice.cautions, ...advice.working, ...effects])
        expect(line).toMatch(/^\S.*[.]$/);
    }
  });

  test('that is held back has steps in it, or does not say what is known', () => {
    const held = adviseSalinity(at(12));
    expect(held).toMatchObject({ kind: 'hold_back', cautions: [], sure: { word: 'barely' } });
    expect(held.working.slice(0, 2).join(' ')).toMatch(/^Probe over.* Last test, carried/);
    expect(held.working.at(-1)).toContain('Salinity reads 12.0 and is in doubt. Clean the probe');
    const { probe: _, lastTest: __, ...blind } = at(35);
    expect(adviseSalinity(blind).reason).toMatch(
      /^Salinity is not known now: no probe.* Until then neither salt nor water/,
    );
    expect(adviseSalinity(blind).predicted).toBeUndefined();
  });

  // By hand: 400 L × 0.55 / 35.55 = 6.19 L, by jug 6.1 L; what is left is less than a jug shows.
  test('of a single day speaks of more', () => {
    const { reason, water } = adviseSalinity(
      at(35.55, { system: { volumeL: 400, band: { low: 34, high: 36, mostPerDay: 2 } } }),
    );
    expect(water?.litresOnDay).toEqual([6.1]);
    expect(reason).toMatch(/exchange 6\.1 L for fresh water today\.$/);
  });

  test('is planned further than the week that is looked at', () => {
    expect(adviseSalinity(at(41)).water?.litresOnDay).toHaveLength(7);
  });

  // The salts dosed add 0.5 a day and no more is allowed; or 0.5 at 36.5 is 0.068 L of five litres, which no jug shows.
  test('calls water that is far outside its band at its edge because nothing more can be done', () => {
    const rising = adviseSalinity(at(33, { driftPerDay: 0.5 }));
    expect(rising).toMatchObject({ kind: 'nothing', cautions: [] });
    expect(rising.water).toBeUndefined();
    expect(rising.reason).toMatch(/^Salinity is 33\.0, outside its band \(34 to 36\), and the salts dosed already/);
    expect(adviseSalinity(at(33, { driftPerDay: 0.6 })).kind).toBe('nothing');
    const small = at(36.5, { system: { volumeL: 5, band: { low: 34, high: 36, mostPerDay: 0.5 } } });
    expect(adviseSalinity(small).reason).toContain('36.5, outside its band (34 to 36)');
    // An edge belongs to its band.
    expect(adviseSalinity(at(34, { driftPerDay: 0.5 })).reason).toContain('Salinity is 34.0, in its band');
    expect(adviseSalinity({ ...small, ...at(36, { system: small.system }) }).reason).toContain('36.0, in its band');
    for (const level of [34.55, 35.45]) expect(adviseSalinity(at(level)).reason).toContain('in its band (34 to 36)');
  });
});

describe('what is left alone', () => {
  const inBand = (low: number, high: number, level: number) =>
    adviseSalinity(at(level, { system: { volumeL: 400, band: { low, high, mostPerDay: 0.5 } } })).kind;

  // By hand: probe and test together are sure within 0.417. Of half a band of 2 the half is 1, of one of 0.5 it is 0.25.
  test('is changed for the noise of the instruments, or although it is nearer to the middle than to the edge', () => {
    expect([inBand(33, 37, 35.9), inBand(33, 37, 36.1)]).toEqual(['nothing', 'dose']);
    expect([inBand(34.5, 35.5, 35.38), inBand(34.5, 35.5, 35.44)]).toEqual(['nothing', 'dose']);
  });
});

describe('a reason to wait', () => {
  test('is seen in water that a reef can live in, or not in brine', () => {
    for (const level of [25, 42]) expect(why(at(level))).not.toContain('suspect_salinity');
    for (const level of [24.9, 42.1]) expect(why(at(level))).toContain('suspect_salinity');
  });

  test('is a temperature of just an hour ago, or a probe of just two', () => {
    expect(why(seen({ temperatureAgeMs: hourMs }))).toEqual([]);
    expect(why(seen({ temperatureAgeMs: hourMs + 1 }))).toEqual(['stale_temperature']);
    const { lastTest: _, ...probed } = seen({ ageMs: 2 * hourMs });
    expect(adviseSalinity(probed).kind).toBe('dose');
    expect(why({ ...probed, probe: { ...probe, ageMs: 2 * hourMs + 1 } })).toEqual(['no_salinity']);
  });

  test('is a test of just two weeks ago; an older one is held against the probe', () => {
    expect(adviseSalinity(testedOnly(14, 0.1)).kind).toBe('nothing');
    expect(why(testedOnly(14.01, 0.1))).toEqual(['no_salinity']);
    const old = { timeMs: now - 15 * dayMs, value: 33, sd: 0.1 };
    expect(adviseSalinity(seen({}, { lastTest: old })).kind).toBe('dose');
  });

  // By hand: 2 × 1.96 × 0.6 = 2.35 beside a band of 2.
  test('is not told with its figures', () => {
    expect(adviseSalinity(testedOnly(0, 0.6, { low: 34, high: 36 })).reason).toContain(
      'Salinity is known only within 2.4, wider than the band (2.0). Measure again first, by a better instrument.',
    );
    const apart = seen({ level: 38.5, atLastTest: 38.5 });
    expect(adviseSalinity(apart).reason).toContain('Check both in one standard, calibrate, and test again first.');
  });

  // A change a day beyond 0.15 has another cause than dosing, common practice. Salts dosed explain 0.1 of 0.2.
  test('is a rise that the salts dosed explain, or none that they do not', () => {
    const rising = (low95: number, driftPerDay: number) =>
      why(seen({ perDay: { low95, middle: low95 + 0.05, high95: low95 + 0.1 } }, { driftPerDay }));
    expect(rising(0.2, 0.1)).toEqual([]);
    expect(rising(0.26, 0.1)).toEqual(['evaporation_or_top_off_fault']);
    expect(rising(0.2, 0)).toEqual(['evaporation_or_top_off_fault']);
    // What is advised and followed is explained as well.
    expect(why(seen({ perDay: { low95: 0.3, middle: 0.35, high95: 0.4 } }, { advisedPerDay: 0.3 }))).toEqual([]);
    const falling = (high95: number) => why(seen({ perDay: { low95: high95 - 0.1, middle: high95 - 0.05, high95 } }));
    expect([falling(-0.14), falling(-0.16)]).toEqual([[], ['evaporation_or_top_off_fault']]);
  });
});

describe('how well salinity is known', () => {
  // By hand: 0.15 for the root of each day: four days are 0.3, with the test's 0.3 0.424. A clock that was wrong makes a test of tomorrow
  // no surer than one of now.
  test('does not fade with the age of a test that no probe followed', () => {
    const within = (daysAgo: number) => adviseSalinity(testedOnly(daysAgo)).sure.levelWithin;
    expect(within(0)).toBeCloseTo(1.96 * 0.3, 6);
    expect(within(4)).toBeCloseTo(1.96 * Math.hypot(0.3, 0.3), 6);
    expect(within(9)).toBeCloseTo(1.96 * Math.hypot(0.3, 0.45), 6);
    expect(within(-1)).toBeCloseTo(1.96 * 0.3, 6);
  });

  // By hand: the probe is sure within 1.96 × hypot(0.03, 0.3) = 0.59, the test of 0.6 within 1.18 and weighs a quarter as much.
  test('is told in other shares than the two have', () => {
    const lines = working(at(36.5, { lastTest: { timeMs: now - dayMs, value: 36.5, sd: 0.6 } }));
    expect(lines).toContain('Probe over the last hours: 36.50 ± 0.59, 80 % of the level.');
    expect(lines).toContain('Last test, carried to now: 36.50 ± 1.18, 20 % of the level.');
  });
});

describe('where salinity goes', () => {
  test('is told for another day, or with a step of all days on the first', () => {
    const { predicted } = adviseSalinity(at(36.5));
    // By hand: 5.4 L of 400 on the first day: 36.5 × (1 − 5.4 / 400) = 36.00725.
    expect(predicted?.withAdvice[1]?.level).toBeCloseTo(36.00725, 4);
    // 0.02 a day by the salts dosed: 36.64 in a week without, and 35.16 with it.
    const lines = working(at(36.5, { driftPerDay: 0.02 }));
    expect(lines).toMatch(/In 7 days, if nothing is changed until then: 35\.1\d with this, 36\.64 without\.$/);
  });

  // By hand: from 35.4 to 36 at 0.1 a day are six days.
  test('past its edge is not said', () => {
    const { kind, predicted } = adviseSalinity(at(35.4, { driftPerDay: 0.1 }));
    expect(kind).toBe('nothing');
    expect((predicted!.leavesWithoutAdviceAtMs! - now) / dayMs).toBeCloseTo(6, 1);
    expect((predicted!.leavesWithAdviceAtMs! - now) / dayMs).toBeCloseTo(6, 1);
    expect(adviseSalinity(at(35)).predicted).not.toHaveProperty('leavesWithAdviceAtMs');
    const [effect] = predicted!.sideEffects;
    expect(effect?.text).toContain('raise salinity by about 3.00 in 30 days');
  });

  test('is worked out with the wrong sign, or salt is weighed out where nothing is to be done', () => {
    const low = working(at(33.8));
    expect(low).toContain('middle minus level: +1.20.');
    expect(low).toContain('4 L (+0.35)');
    expect(working(at(34.8))).not.toContain('next water changes');
  });
});
