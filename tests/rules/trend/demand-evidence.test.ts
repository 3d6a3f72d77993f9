import { describe, expect, it } from 'vitest';
import { demandFacts } from '#rules/trend/demand-facts.ts';
import {
  type DemandEvidence,
  type DemandState,
  demandEstimate,
  startDemand,
  stepDemand,
} from '#rules/trend/demand-filter.ts';
import type { Hypothesis } from '#rules/trend/demand-hypotheses.ts';

const dayMs = 86_400_000;
const midnight = Date.UTC(2026, 2, 2);
const alkalinity = startDemand({ analyte: 'alkalinity' });
const tested = (value: number, sd?: number): DemandEvidence => ({
  is: 'test',
  value,
  ...(sd === undefined ? {} : { sd }),
});
/** Evidence and the days after midnight at which it came. */
const follow = (from: DemandState, ...entries: [days: number, evidence: DemandEvidence][]): DemandState =>
  entries.reduce((state, [days, evidence]) => stepDemand(state, evidence, midnight + days * dayMs), from);
const at = (state: DemandState, days: number) => demandEstimate(state, midnight + days * dayMs)!;

/** A filter that is left with one choice: level 8 ± 0.1, demand 0.5 ± 0.2 a day, nothing that wanders but what is said. */
const known = (
  more: Partial<DemandState> = {},
  wander: Partial<Hypothesis['wander']> = {},
  demand = 0.5,
): DemandState => ({
  ...{ options: { analyte: 'alkalinity' }, timeMs: midnight, latestMs: midnight, risenSince: 0, testsUsed: 3 },
  logEvidence: 0,
  hypotheses: [
    {
      ...{ firstWeight: 1, weight: 1, testFactor: 2 },
      wander: { growthSd: 0, leastDemand: 0.2, growthShare: 0, levelSd: 0, ...wander },
      branches: [
        {
          ...{ reading: 'plain', weight: 1 },
          belief: {
            mean: [8, demand, 0, 0],
            covariance: [0.01, 0.004, 0, 0, 0.004, 0.04, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0],
          },
        },
      ],
    },
  ],
  ...more,
});

describe('evidence that cannot be', () => {
  it.each([
    ['value of the test is NaN, allowed: -100000 to 100000', tested(Number.NaN)],
    ['value of the test is 200000, allowed: -100000 to 100000', tested(2e5)],
    ['sd of the test is 0, allowed: 5e-324 to 100000', tested(8, 0)],
    ['sd of the test is -1, allowed: 5e-324 to 100000', tested(8, -1)],
    ['rise by the dose is 20000, allowed: -10000 to 10000', { is: 'dose', rise: 2e4 }],
    ['rise by the dose is NaN, allowed: -10000 to 10000', { is: 'dose', rise: Number.NaN }],
    ['share of the water changed is 1.1, allowed: 0 to 1', { is: 'water_change', share: 1.1 }],
    ['share of the water changed is -0.1, allowed: 0 to 1', { is: 'water_change', share: -0.1 }],
  ] as [string, DemandEvidence][])('is counted, or refused without its limits: %s', (message, evidence) => {
    expect(() => follow(known(), [1, evidence])).toThrow(message);
  });

  it('a diary that runs backwards is followed', () => {
    const backwards = /^time of the evidence is (\d+|NaN), allowed: \d+ or later$/;
    expect(() => follow(alkalinity, [2, { is: 'dose', rise: 1 }], [1, tested(8)])).toThrow(backwards);
    expect(() => follow(known(), [2, { is: 'dose', rise: 1 }], [1.9, { is: 'step_expected' }])).toThrow(backwards);
    expect(() => follow(known(), [2, { is: 'dose', rise: 1 }], [2, { is: 'step_expected' }])).not.toThrow();
    expect(() => stepDemand(known(), tested(8), Number.NaN)).toThrow(backwards);
  });
});

describe('what is believed before and after the first test', () => {
  it('a dose or a change of water before the first test moves the level that it shows', () => {
    const entries: [number, DemandEvidence][] = [
      [0, { is: 'dose', rise: 3 }],
      [1, { is: 'water_change', share: 0.5, newLevel: 20 }],
      [2, { is: 'step_expected' }],
    ];
    const late = follow(alkalinity, ...entries, [3, tested(8)]);
    expect(at(late, 3)).toEqual(at(follow(alkalinity, [3, tested(8)]), 3));
    expect(demandEstimate(follow(alkalinity, ...entries), midnight)).toBeUndefined();
  });

  it.each([
    // Mean of the squared multiples by the stated weights of the filter: 1.61145 of a stated sd, 1.87115 of a guessed one.
    ['alkalinity', undefined, undefined, undefined, 1.87115, 0.15],
    ['alkalinity', 0.3, undefined, undefined, 1.61145, 0.3],
    ['alkalinity', undefined, 0.2, undefined, 1.61145, 0.2],
    ['alkalinity', 0.3, 0.2, undefined, 1.61145, 0.3],
    ['alkalinity', 0.3, 0.2, 0.5, 1.61145, 0.3],
    ['calcium', undefined, undefined, 5, 1.87115, 8],
    ['magnesium', undefined, undefined, undefined, 1.87115, 25],
  ] as const)(
    'the first test of %s is surer than its kit (stated %s, usual %s, scale %s)',
    (analyte, sd, usual, step, factor, counted) => {
      const options = {
        analyte,
        ...(usual === undefined ? {} : { usualTestSd: usual }),
        ...(step === undefined ? {} : { resolution: step }),
      };
      const state = follow(startDemand(options), [0, tested(400, sd)]);
      const facts = demandFacts[analyte];
      const estimate = at(state, 0);
      // A step of the scale is a rectangle: its variance is the step squared over 12 (JCGM 100:2008, F.2.2.1).
      expect(estimate.levelSd).toBeCloseTo(Math.sqrt(factor * counted ** 2 + (step ?? 0) ** 2 / 12), 6);
      expect(estimate).toMatchObject({ level: expect.closeTo(400, 9), suspect: false, testsUsed: 1, timeMs: midnight });
      expect(estimate.demandPerDay).toBeCloseTo(facts.firstDemand, 9);
      expect(estimate.demandSd).toBeCloseTo(facts.firstDemandSd, 9);
      expect(estimate.levelDemandCovariance).toBeCloseTo(0, 9);
      expect(estimate.learnedTestSd).toBeCloseTo((usual ?? facts.usualTestSd) * Math.sqrt(factor), 6);
      expect(state.lastTest).toEqual({
        ...{ timeMs: midnight, value: 400, chancePlain: 1, isSuspect: false },
        ...{ innovation: 0, innovationSd: facts.outlierSd },
      });
    },
  );
});

describe('what evidence does to what is known', () => {
  it('a dose is counted twice, from another hour, or not before the next test', () => {
    const dosed = follow(known(), [0.5, { is: 'dose', rise: 0.3 }], [0.75, { is: 'dose', rise: 0.1 }]);
    // By hand: 8 and 0.4 of doses less 0.5 a day.
    expect(at(dosed, 1).level).toBeCloseTo(7.9, 9);
    // A look back shows what is known now, at the time of the last entry.
    expect(at(dosed, 0.1)).toEqual(at(dosed, 0.75));
    expect(at(dosed, 0.1).timeMs).toBe(midnight + 0.75 * dayMs);
    const after = follow(dosed, [1, tested(7.9)]);
    expect(after.lastTest!.innovation).toBeCloseTo(0, 9);
    expect(after.risenSince).toBe(0);
    // And the dose is in the level once it was tested.
    expect(at(after, 2).level).toBeCloseTo(7.4, 9);
    // A dose lies in the level also where a water change came between.
    const changed = follow(dosed, [1, { is: 'water_change', share: 0.5, newLevel: 10 }]);
    expect(at(changed, 1).level).toBeCloseTo((7.9 + 10) / 2, 9);
    expect(at(changed, 2).level).toBeCloseTo((7.9 + 10) / 2 - 0.5, 9);
  });

  it('water that was tested is as unsure as water that was not', () => {
    const change = (newLevel?: number): DemandState =>
      follow(known(), [0, { is: 'water_change', share: 0.5, ...(newLevel === undefined ? {} : { newLevel }) }]);
    // By hand: half of 8 ± 0.1 and half of 10, known to a quarter of a kit's 0.15; untested it is taken for 8 ± 1.5.
    expect(at(change(10), 0).level).toBeCloseTo(9, 9);
    expect(at(change(10), 0).levelSd).toBeCloseTo(Math.hypot(0.05, 0.5 * 0.0375), 9);
    expect(at(change(), 0).level).toBeCloseTo(8, 9);
    expect(at(change(), 0).levelSd).toBeCloseTo(Math.hypot(0.05, 0.75), 9);
  });

  it('new water that nobody tested is taken for other than natural seawater', () => {
    // common practice, no published source: 420 ± 40 mg/L of calcium, 1300 ± 80 mg/L of magnesium.
    for (const [analyte, level, sd] of [
      ['calcium', 420, 40],
      ['magnesium', 1300, 80],
    ] as const) {
      const state = follow(known({ options: { analyte } }), [0, { is: 'water_change', share: 1 }]);
      expect(at(state, 0)).toMatchObject({ level, levelSd: sd });
    }
  });

  it('a step of the demand is as likely after a day as after a month', () => {
    // Bayes by hand at the very value that was expected: variance 0.01 − 2 × 0.004 + 0.04 + (2 × 0.1)² = 0.082; 1.2 dKH for a wrong
    // test, 1.5 for a jump, 0.35 × 0.5 a day for a step, each density 1 / √variance.
    const plain = (1 - 0.04 - 0.002 - 0.002) / Math.sqrt(0.082);
    const others =
      0.04 / Math.sqrt(0.082 + 1.44) + 0.002 / Math.sqrt(0.082 + 2.25) + 0.002 / Math.sqrt(0.082 + 0.175 ** 2);
    expect(follow(known(), [1, tested(7.5, 0.1)]).lastTest!.chancePlain).toBeCloseTo(plain / (plain + others), 9);
  });

  it('corals that arrive in a tank that uses no calcium are taken to use next to none', () => {
    // By hand: 0.3 × 0.3 × 7 mg/L a day.
    const state = follow(known({ options: { analyte: 'calcium' } }, {}, 1), [0, { is: 'step_expected' }]);
    expect(at(state, 0).demandSd).toBeCloseTo(Math.hypot(0.2, 0.63), 9);
  });

  it.each([
    ['30 % of the demand', 0.5, 0.15],
    ['at least 30 % of 0.3 dKH a day', 0.1, 0.09],
  ])('corals that arrive may add other than %s', (_, demand, step) => {
    const state = follow(known({}, {}, demand), [0, { is: 'step_expected' }]);
    expect(at(state, 0).demandSd).toBeCloseTo(Math.hypot(0.2, step), 9);
    expect(at(state, 0)).toMatchObject({ level: expect.closeTo(8, 9), demandPerDay: expect.closeTo(demand, 9) });
  });

  it('what a test was expected to show, and how surely, is told wrongly', () => {
    const state = follow(known({ options: { analyte: 'alkalinity', resolution: 0.6 } }), [2, tested(7.2, 0.1)]);
    // By hand, two days on: 8 − 1 = 7; variance 0.01 − 2 × 2 × 0.004 + 4 × 0.04 = 0.154, the kit (2 × 0.1)², the scale 0.03.
    expect(state.lastTest).toMatchObject({ innovation: expect.closeTo(0.2, 9), isSuspect: false });
    expect(state.lastTest!.innovationSd).toBeCloseTo(Math.sqrt(0.154 + 0.04 + 0.03), 9);
    expect(state).toMatchObject({ testsUsed: 4, timeMs: midnight + 2 * dayMs });
    expect(state.lastTest).not.toHaveProperty('earlierSuspect');
  });

  it('a test on the edge of doubt is called suspect too soon, or too late', () => {
    const verdict = (off: number) => follow(known(), [1, tested(7.5 + off, 0.05)]).lastTest!;
    // Between the two lies the place where half of the chance is that of a plain test.
    const chances = [0.5, 0.6, 0.7, 0.8, 0.9, 1, 1.1, 1.2].map(verdict);
    for (const { chancePlain, isSuspect } of chances) expect(isSuspect).toBe(chancePlain < 0.5);
    expect(new Set(chances.map(({ isSuspect }) => isSuspect)).size).toBe(2);
    const confirmed = follow(known(), [1, tested(5.5, 0.05)], [1.1, tested(5.45, 0.05)]);
    expect(confirmed.lastTest!.earlierSuspect).toEqual({ timeMs: midnight + dayMs, value: 5.5, verdict: 'confirmed' });
    const refuted = follow(known(), [1, tested(5.5, 0.05)], [1.1, tested(7.4, 0.05)]);
    expect(refuted.lastTest!.earlierSuspect).toEqual({ timeMs: midnight + dayMs, value: 5.5, verdict: 'refuted' });
  });

  it('growth that the tests point to is not in what is said', () => {
    const growing = known({}, { growthShare: 0.02, growthSd: 0.1 });
    // By hand: 10 % of 0.5 a day for each root of a day; a day on the demand is 0.5 e^0.02.
    expect(at(growing, 0)).toMatchObject({
      growthShare: 0.02,
      growthShareSd: 0,
      learnedGrowthSd: expect.closeTo(0.05, 9),
    });
    expect(at(growing, 1).demandPerDay).toBeCloseTo(0.5 * 1.02020134, 8);
    expect(at(growing, 1).learnedTestSd).toBeCloseTo(0.3, 9);
    expect(at(known(), 0).suspect).toBe(false);
  });
});
