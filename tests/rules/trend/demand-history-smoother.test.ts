import { describe, expect, it } from 'vitest';
import { demandFacts } from '#rules/trend/demand-facts.ts';
import { type DemandEvidence, type DemandOptions, startDemand, stepDemand } from '#rules/trend/demand-filter.ts';
import type { Hypothesis } from '#rules/trend/demand-hypotheses.ts';
import { type HistoryPoint, pastUnder } from '#rules/trend/demand-past.ts';

const dayMs = 86_400_000;
const start = Date.UTC(2026, 1, 1);
type Entry = { timeMs: number; evidence: DemandEvidence };
/** Whole days apart the day cycle comes back to nothing: level and demand alone are left, and all is linear. */
const at = (day: number, evidence: DemandEvidence): Entry => ({ timeMs: start + day * dayMs, evidence });
const test = (value: number, sd?: number): DemandEvidence => ({
  is: 'test',
  value,
  ...(sd === undefined ? {} : { sd }),
});
const facts = demandFacts.alkalinity;

/** The points after what happened at their moment. */
const lastOfEach = (points: readonly HistoryPoint[]) =>
  points.filter(({ timeMs }, place) => points[place + 1]?.timeMs !== timeMs);

/**
 * The same past by one belief about all moments at once, in which each test is held against the level of its moment: what a
 * smoother must come to (conditional mean and covariance of a normal distribution, any textbook), and without its backward pass.
 */
function allAtOnce(
  best: Hypothesis,
  entries: readonly Entry[],
  options: DemandOptions,
  fates: Record<number, 'confirmed' | 'refuted'>,
) {
  const variance = (sd: number | undefined): number =>
    (best.testFactor * (sd ?? options.usualTestSd ?? facts.usualTestSd)) ** 2 + (options.resolution ?? 0) ** 2 / 12;
  const { growthSd, growthShare, levelSd, leastDemand } = best.wander;
  let mean: number[] = [];
  let spread: number[][] = [];
  entries.forEach(({ evidence, timeMs }, index) => {
    const n = mean.length;
    if (index === 0) {
      if (evidence.is !== 'test') throw new Error('the first entry is a test here');
      mean = [evidence.value, facts.firstDemand];
      spread = [
        [variance(evidence.sd), 0],
        [0, facts.firstDemandSd ** 2],
      ];
      return;
    }
    const days = (timeMs - entries[index - 1]!.timeMs) / dayMs;
    const [level, demand] = [mean[n - 2]!, mean[n - 1]!];
    const grownDays = days + (growthShare * days * days) / 2;
    const kept = evidence.is === 'water_change' ? 1 - evidence.share : 1;
    const grown = Math.exp(growthShare * days);
    // The new level and demand as sums of the ones before, and what is new in them.
    const rows = [
      [kept, -kept * grownDays],
      [0, grown],
    ];
    const wander = (growthSd * Math.max(leastDemand, demand)) ** 2;
    const cross = (-kept * wander * days ** 2) / 2;
    const noise = [
      [kept * kept * ((wander * days ** 3) / 3 + levelSd ** 2 * days), cross],
      [cross, wander * days],
    ];
    const brought = { added: 0 };
    if (evidence.is === 'dose') brought.added = evidence.rise;
    if (evidence.is === 'water_change') {
      brought.added = evidence.share * (evidence.newLevel ?? facts.newWater.level);
      if (evidence.newLevel === undefined) noise[0]![0]! += (evidence.share * facts.newWater.sd) ** 2;
    }
    // A jump that was confirmed: the level by 1.5 dKH, the demand by 35 %.
    if (fates[index] === 'confirmed') {
      noise[0]![0]! += facts.jumpSd ** 2;
      noise[1]![1]! += (0.35 * grown * demand) ** 2;
    }
    if (evidence.is === 'step_expected') noise[1]![1]! += (0.3 * grown * demand) ** 2;
    const crossing = rows.map(([byLevel, byDemand]) =>
      spread.map((row) => byLevel! * row[n - 2]! + byDemand! * row[n - 1]!),
    );
    const corner = rows.map(([byLevel, byDemand], i) =>
      [0, 1].map((j) => byLevel! * crossing[j]![n - 2]! + byDemand! * crossing[j]![n - 1]! + noise[i]![j]!),
    );
    mean = [...mean, kept * (level - grownDays * demand) + brought.added, grown * demand];
    spread = [
      ...spread.map((row, i) => [...row, crossing[0]![i]!, crossing[1]![i]!]),
      ...crossing.map((row, i) => [...row, ...corner[i]!]),
    ];
    if (evidence.is !== 'test' || fates[index] === 'refuted') return;
    const measured = spread.map((row) => row[n]!);
    const total = measured[n]! + variance(evidence.sd);
    const off = evidence.value - mean[n]!;
    mean = mean.map((entry, i) => entry + (measured[i]! / total) * off);
    spread = spread.map((row, i) => row.map((entry, j) => entry - (measured[i]! * measured[j]!) / total));
  });
  return entries.map(({ timeMs }, k) => ({
    ...{ timeMs, level: mean[2 * k]!, levelSd: Math.sqrt(spread[2 * k]![2 * k]!) },
    ...{ demandPerDay: mean[2 * k + 1]!, demandSd: Math.sqrt(spread[2 * k + 1]![2 * k + 1]!) },
  }));
}

/** What the filter finds likeliest over a diary. */
function likeliest(entries: readonly Entry[], options: DemandOptions): Hypothesis {
  let state = startDemand(options);
  for (const { evidence, timeMs } of entries) state = stepDemand(state, evidence, timeMs);
  return state.hypotheses.toSorted((one, other) => other.weight - one.weight)[0]!;
}

function past(
  hypothesis: Hypothesis,
  diary: readonly Entry[],
  options: DemandOptions,
  everyMs: number,
  fates: Record<number, 'confirmed' | 'refuted'> = {},
): HistoryPoint[] {
  const known = new Map(Object.entries(fates).map(([place, fate]) => [Number(place), fate]));
  return pastUnder(hypothesis, diary, { options, fates: known, steady: () => 0 }, { everyMs });
}

describe('the past as all tests together tell it', () => {
  const diaries: [string, Entry[], Partial<DemandOptions>, Record<number, 'confirmed' | 'refuted'>?][] = [
    ['tests alone', [8, 7.6, 7.1, 6.8, 6.2].map((value, day) => at(day, test(value, 0.1))), {}],
    [
      'doses between tests of a kit that says nothing',
      [
        ...[at(0, test(8)), at(1, { is: 'dose', rise: 0.6 }), at(2, test(7.9)), at(3, { is: 'dose', rise: 1.1 })],
        ...[at(4, { is: 'dose', rise: 0.3 }), at(5, test(8.2)), at(7, test(7.4))],
      ],
      { usualTestSd: 0.2 },
    ],
    [
      'a water change that was tested, one that was not, and a coarse scale',
      [
        ...[at(0, test(8, 0.2)), at(2, test(7.5, 0.2)), at(3, { is: 'water_change', share: 0.3, newLevel: 11 })],
        ...[at(4, test(8.3)), at(6, { is: 'water_change', share: 0.4 }), at(7, test(7.8, 0.2)), at(8, test(7.6, 0.2))],
      ],
      { resolution: 0.5 },
    ],
    [
      'corals that arrived',
      [
        ...[0, 1, 2, 3].map((day) => at(day, test(8 - 0.2 * day, 0.1))),
        at(4, { is: 'step_expected' }),
        ...[5, 6, 7].map((day) => at(day, test(8.2 - 0.3 * day, 0.1))),
      ],
      {},
    ],
    [
      'a demand that grows day by day',
      [0, 3, 6, 9, 12, 15, 18].map((day) => at(day, test(14 - 0.35 * day - 0.008 * day * day, 0.1))),
      {},
    ],
    [
      'a jump that the next test confirms, with a dose between',
      [
        ...[8, 7.5, 7, 6.5, 6].map((value, day) => at(day, test(value, 0.1))),
        ...[at(5, test(3.2, 0.1)), at(6, { is: 'dose', rise: 0.5 }), at(7, test(2.7, 0.1)), at(8, test(2.2, 0.1))],
      ],
      {},
      { 5: 'confirmed' },
    ],
    [
      'a slip that the next test refutes, with a dose between',
      [
        ...[8, 7.5, 7, 6.5, 6].map((value, day) => at(day, test(value, 0.1))),
        ...[at(5, test(2.5, 0.1)), at(6, { is: 'dose', rise: 0.5 }), at(7, test(5, 0.1)), at(8, test(4.5, 0.1))],
      ],
      {},
      { 5: 'refuted' },
    ],
    [
      'a slip at the very end, which nothing has confirmed yet',
      [8, 7.5, 7, 6.5, 6, 3].map((value, day) => at(day, test(value, 0.1))),
      {},
      { 5: 'refuted' },
    ],
  ];

  it.each(diaries)('is other than one belief about all moments at once shows: %s', (_, diary, more, fates = {}) => {
    const options: DemandOptions = { analyte: 'alkalinity', ...more };
    const best = likeliest(diary, options);
    const wanted = allAtOnce(best, diary, options, fates);
    const all = past(best, diary, options, 30 * dayMs, fates);
    const found = lastOfEach(all);
    expect(found).toHaveLength(wanted.length);
    // A point before each dose and water change, a dose lower, and none before a test.
    const steps = diary.filter(({ evidence: { is } }) => is === 'dose' || is === 'water_change');
    expect(all).toHaveLength(wanted.length + steps.length);
    for (const { timeMs, evidence } of steps) {
      const [before, after] = all.filter((point) => point.timeMs === timeMs) as [HistoryPoint, HistoryPoint];
      if (evidence.is === 'dose') expect(after.level - before.level).toBeCloseTo(evidence.rise, 4);
    }
    for (const [place, each] of wanted.entries()) {
      const { test: used, ...point } = found[place]!;
      expect(used?.isUsed ?? true).toBe(fates[place] !== 'refuted');
      expect(point.timeMs).toBe(each.timeMs);
      for (const part of ['level', 'levelSd', 'demandPerDay', 'demandSd'] as const)
        expect(point[part], `${part} of ${place}`).toBeCloseTo(each[part], 6);
    }
  });

  it('a look between two tests changes what the tests say', () => {
    const diary = diaries[1]![1];
    const options: DemandOptions = { analyte: 'alkalinity', usualTestSd: 0.2 };
    const best = likeliest(diary, options);
    const looked = lastOfEach(past(best, diary, options, dayMs));
    expect(looked.map(({ timeMs }) => (timeMs - start) / dayMs)).toEqual([0, 1, 2, 3, 4, 5, 6, 7]);
    const plain = lastOfEach(past(best, diary, options, 30 * dayMs));
    for (const point of plain) {
      const same = looked.find(({ timeMs }) => timeMs === point.timeMs)!;
      expect(same.level).toBeCloseTo(point.level, 3);
      expect(same.levelSd).toBeCloseTo(point.levelSd, 3);
      expect(same.test).toEqual(point.test);
    }
  });
});
