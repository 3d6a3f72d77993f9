import { describe, expect, test } from 'vitest';
import { adviseSalinity } from '#rules/dosing/advice-salinity.ts';
import type { SalinityAdviceInput } from '#rules/dosing/advice-salinity-level.ts';

const dayMs = 86_400_000;
const hourMs = 3_600_000;
const now = Date.UTC(2026, 5, 1, 8);

/** An invented system of 400 L, band 34 to 36, at most 0.5 a day; probe and a test by a good meter agree. */
function at(level: number, change: Partial<SalinityAdviceInput> = {}): SalinityAdviceInput {
  return {
    system: { volumeL: 400, band: { low: 34, high: 36, mostPerDay: 0.5 } },
    probe: {
      ...{ level, scatterSd: 0.03, ageMs: 60_000, isSuspect: false, temperatureAgeMs: 60_000, atLastTest: level },
      perDay: { low95: -0.03, middle: 0.01, high95: 0.05 },
    },
    lastTest: { timeMs: now - dayMs, value: level, sd: 0.3 },
    driftPerDay: 0,
    nowMs: now,
    ...change,
  };
}
const cautions = (input: SalinityAdviceInput): string => adviseSalinity(input).cautions.join(' ');

describe('what the person is warned of', () => {
  test('water is taken out of a tank that lacks water, or nobody looks', () => {
    expect(cautions(at(36.5))).toContain('Look at the water level mark first');
    // The sensor has looked already.
    for (const isWaterLow of [false, true]) expect(cautions(at(36.5, { isWaterLow }))).not.toContain('mark first');
    // By hand: 5.5 L on 400 L: 5.5 / 405.5 = 1.356 %.
    expect(cautions(at(36.5, { isWaterLow: true }))).toContain('magnesium fall along by 1.4 % a day');
    expect(cautions(at(36.5))).toMatch(/temperature of the tank.*slowly.*Measure again/);
  });

  test('dry salt goes onto animals, or salt water into the top-off for good', () => {
    for (const level of [33.8, 30]) expect(cautions(at(level))).toMatch(/never as dry salt.*maker’s label/);
    expect(cautions(at(33.8))).toMatch(/no more than evaporates.*may not stay in the automatic top-off/);
    expect(cautions(at(30))).toContain('Test the alkalinity of the new water');
    expect(adviseSalinity(at(35)).cautions).toEqual([]);
  });
});

describe('what the person reads', () => {
  test('a probe that reads outside the band now is said to be in it, by its hours before', () => {
    const { probe } = at(35.1);
    const jumped = adviseSalinity(at(35.1, { probe: { ...probe!, newest: 36.6 } }));
    expect(jumped.kind).toBe('nothing');
    expect(jumped.reason).toMatch(
      /^Salinity was 35\.1 over the last hours, inside its band, and the probe reads 36\.6 just now/,
    );
    expect(adviseSalinity(at(35.1, { probe: { ...probe!, newest: 35.9 } })).reason).toContain('in its band (34 to 36)');
  });

  test('another side, distance or number of days than there is', () => {
    expect(adviseSalinity(at(36.5)).reason).toBe(
      'Salinity is 36.5, 1.5 above the middle of the band: exchange 5.4 L for fresh water today, and so on for 4 days.',
    );
    // By hand: 0.6 over three weeks' worth of top-off is two days of 4 L (0.35) and the rest of 0.25: 2.857 L, by jug 2.8 L.
    expect(adviseSalinity(at(34.4)).reason).toBe(
      'Salinity is 34.4, 0.6 below the middle of the band: top off with 4 L of water of salinity 35 (about 152 g of salt) in place of fresh today, and so on for 2 days.',
    );
    expect(adviseSalinity(at(36.5, { isWaterLow: true })).reason).toContain('water is missing, so top off with 5.5 L');
    expect(adviseSalinity(at(30)).reason).toContain(
      'draw off 13.5 L of tank water, dissolve 217 g of salt mix in it, and pour it back slowly today',
    );
    expect(adviseSalinity(at(35)).reason).toContain('Salinity is 35.0, in its band (34 to 36)');
  });

  test('how it was worked out does not lead there', () => {
    const high = adviseSalinity(at(36.5)).working.join('\n');
    // By hand: 1/√(1/0.3015² + 1/0.3²) = 0.2127; × 1.96 = 0.417.
    expect(high).toContain('36.50 ± 0.42 (95 % interval). Band 34 to 36, middle 35.00; middle minus level: −1.50');
    expect(high).toContain('Day by day into 400 L: 5.4 L (−0.49), 5.5 L (−0.50)');
    expect(high).not.toMatch(/next water changes|nothing to do/);
    // By hand: 400 L × 38 g/L × 1.2 / 35 = 521 g.
    expect(adviseSalinity(at(33.8)).working.join('\n')).toContain('about 521 g more salt in their water');
    const still = adviseSalinity(at(35, { driftPerDay: 0.05 })).working.join('\n');
    expect(still).toContain('The salts dosed add 0.050 a day.');
    expect(still).toContain('nothing to do');
    expect(still).not.toMatch(/next water changes|Day by day/);
  });

  // By hand: 1.96 × 0.2127 = 0.417 of half a band of 1 is fair, of 3 is well; the probe alone 1.96 × 0.3015 = 0.591 of 0.7 is bad.
  test('more is known than one instrument can tell', () => {
    const sure = (low: number, high: number, change: Partial<SalinityAdviceInput> = {}) =>
      adviseSalinity(at(35, { system: { volumeL: 400, band: { low, high } }, ...change })).sure;
    expect(sure(34, 36)).toMatchObject({ word: 'fairly', text: 'Salinity within ± 0.42, from the probe and a test.' });
    expect(sure(32, 38).word).toBe('well');
    const { lastTest: _, ...alone } = at(35, { system: { volumeL: 400, band: { low: 34.3, high: 35.7 } } });
    expect(adviseSalinity(alone).sure).toMatchObject({
      word: 'barely',
      text: 'Salinity within ± 0.59, from one instrument alone.',
    });
    expect(adviseSalinity(alone).sure.levelWithin).toBeCloseTo(0.591, 3);
  });

  test('the next measurement is due in the past, or a week after a step', () => {
    expect(adviseSalinity(at(36.5)).retestAtMs).toBe(now + dayMs);
    expect(adviseSalinity(at(35)).retestAtMs).toBe(now + 7 * dayMs);
    expect(adviseSalinity(at(12)).retestAtMs).toBe(now);
  });
});

describe('litres that are measured out', () => {
  // By hand: of 4,000 L 4,000 × 0.5 / 36.5 = 54.79 L, by half litres 54.5; of 40,000 L 547.9, by litres 547.
  test('are asked for to the millilitre', () => {
    const first = (volumeL: number) =>
      adviseSalinity(at(36.5, { system: { volumeL, band: { low: 34, high: 36, mostPerDay: 0.5 } } })).water
        ?.litresOnDay[0];
    expect([first(4000), first(40_000)]).toEqual([54.5, 547]);
  });
});

describe('a reason to wait', () => {
  const probe = at(36.5).probe!;

  test('is told in other numbers than were found', () => {
    const reason = (change: Partial<typeof probe>) =>
      adviseSalinity(at(36.5, { probe: { ...probe, ...change } })).reason;
    expect(reason({ temperatureAgeMs: 1.5 * hourMs })).toContain('is 1.5 hours old');
    expect(reason({ perDay: { low95: 0.3, middle: 0.35, high95: 0.4 } })).toMatch(
      // By hand: 400 L × 0.35 / 36.5 = 3.8 L.
      /Salinity rises by 0\.35 a day.*3\.8 L a day evaporate/,
    );
    expect(reason({ perDay: { low95: -0.6, middle: -0.5, high95: -0.4 } })).toMatch(
      /Salinity falls by 0\.50 a day.*5\.5 L a day too much/,
    );
    // By hand: the test a day ago, 35, and the probe then at 36.5 and now at 38.5: 37 beside 38.5, 1.5 apart. Usual are 2.5 × the
    // hypotenuse of 0.3015 and 0.3, 1.06.
    const apart = at(38.5, { lastTest: { timeMs: now - dayMs, value: 35, sd: 0.3 } });
    const { reason: why } = adviseSalinity({ ...apart, probe: { ...probe, level: 38.5, atLastTest: 36.5 } });
    expect(why).toContain('the test of 1.0 days ago (35.0) says 37.0: 1.5 apart where 1.1 is usual');
  });

  test('hides where the salinity goes meanwhile', () => {
    const { predicted } = adviseSalinity(at(36.5, { probe: { ...probe, isSuspect: true }, driftPerDay: 0.02 }));
    expect(predicted?.withAdvice.at(-1)?.level).toBeCloseTo(36.5 + 7 * 0.02, 6);
    expect(predicted?.sideEffects).toHaveLength(1);
    // 0.003 a day are 0.09 in a month, not worth a word.
    expect(adviseSalinity(at(35, { driftPerDay: 0.003 })).predicted?.sideEffects).toEqual([]);
  });
});
