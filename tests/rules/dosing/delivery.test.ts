import { describe, expect, it } from 'vitest';
import { adviseDose } from '#rules/dosing/advice.ts';
import type { AdviceInput, PastDemand } from '#rules/dosing/advice-types.ts';
import { deliveryOf, worthLooking } from '#rules/dosing/delivery.ts';
import { dayMs, example, now, withEstimate, withTests } from './advice-case.ts';

const past = (demandPerDay: number, demandSd = 0.05): PastDemand[] =>
  [9, 8, 7, 6, 5, 4].map((days) => ({ timeMs: now - days * dayMs, demandPerDay, demandSd, testsUsed: 20 - days }));
const chance = (
  demandPerDay: number,
  demandSd: number,
  more: { arrivalsMs?: number[]; seenMs?: number; before?: number } = {},
) =>
  deliveryOf(
    { ...example.estimate!, demandPerDay, demandSd },
    ...([past(more.before ?? 1), 1, more.arrivalsMs ?? [], more.seenMs, now] as const),
  )!.chanceNotArriving;

describe('whether the plan arrives', () => {
  it('a demand that doubles by what the plan gives looks like an empty container', () => {
    expect(chance(1.98, 0.1)).toBeGreaterThan(0.9);
    expect(chance(1.9, 0.3)).toBeGreaterThan(worthLooking);
  });

  it('a step of a third, or slow growth, looks like corals', () => {
    expect(chance(1.33, 0.08)).toBeLessThan(worthLooking);
    expect(chance(1.2, 0.05)).toBeLessThan(worthLooking);
    expect(chance(1.05, 0.3)).toBe(0);
  });

  it('corals that came speak for the corals', () => {
    expect(chance(1.6, 0.15, { arrivalsMs: [now - 6 * dayMs] })).toBeLessThan(chance(1.6, 0.15));
  });

  it('is unknown without a plan, or before the demand was known', () => {
    expect(deliveryOf(example.estimate!, past(1), 0, [], undefined, now)).toBeUndefined();
    expect(deliveryOf(example.estimate!, past(1, 0.6), 1, [], undefined, now)).toBeUndefined();
    const early = past(1).map((each) => ({ ...each, testsUsed: 3 }));
    expect(deliveryOf(example.estimate!, early, 1, [], undefined, now)).toBeUndefined();
  });
});

describe('a dry container or a dead pump', () => {
  const dry: AdviceInput = {
    ...withEstimate({ level: 7.6, demandPerDay: 1.98, demandSd: 0.12 }),
    pastDemands: past(1),
  };

  it('does not become a double dose', () => {
    const advice = adviseDose(dry);
    expect(advice).toMatchObject({ kind: 'hold_back', plan: [], today: [], dosingNow: 'leave' });
    expect(advice.holdBacks.map(({ rule }) => rule)).toEqual(['plan_may_not_arrive']);
    expect(advice.reason).toContain('pump');
  });

  it('an empty container is named by its own count', () => {
    const stocks = example.stocks.map((stock) => ({ ...stock, isEmpty: true }));
    const advice = adviseDose({ ...withEstimate({ level: 7.8, demandPerDay: 1.4 }), stocks });
    expect(advice.holdBacks.map(({ rule }) => rule)).toContain('container_empty');
    expect(advice.plan).toEqual([]);
  });

  it('whoever has looked at the pump and logs the plan again is believed', () => {
    const began = past(1).concat([{ timeMs: now - 2 * dayMs, demandPerDay: 1.7, demandSd: 0.2, testsUsed: 18 }]);
    const looked = { ...dry, pastDemands: began, planSeenMs: now - dayMs };
    expect(adviseDose(looked).holdBacks).toEqual([]);
    expect(adviseDose({ ...looked, planSeenMs: now - 6 * dayMs }).holdBacks).toHaveLength(1);
  });
});

describe('a solution that is spent, or a tube that is half blocked', () => {
  // Of 1 dKH a day two fifths arrive: by the numbers alone, corals that use more are the likelier story.
  const values = [8.25, 8.25, 8.25, 8.25, 7.65, 7.05];
  const spent: AdviceInput = {
    ...withTests(values, withEstimate({ level: 7.15, demandPerDay: 1.45, demandSd: 0.1 })),
    pastDemands: past(1),
    doses: Array.from({ length: 60 }, (_, i) => ({ timeMs: now - (59.5 - i) * (dayMs / 4), rise: 0.25 })),
  };
  const rules = (input: AdviceInput) => adviseDose(input).holdBacks.map(({ rule }) => rule);

  it('is answered with more of it while the alarm says that the dose is not seen', () => {
    expect(chance(1.45, 0.1)).toBeLessThan(worthLooking);
    const advice = adviseDose(spent);
    expect(rules(spent)).toEqual(['doses_not_seen']);
    expect(advice).toMatchObject({ kind: 'hold_back', plan: [], today: [] });
    expect(advice.reason).toContain('the strength of the solution');
  });

  it('holds back although corals came, although somebody looked, or after the tests show the doses again', () => {
    expect(rules({ ...spent, arrivalsMs: [now - 4 * dayMs] })).toEqual([]);
    expect(rules({ ...spent, planSeenMs: now - 5 * dayMs })).toEqual(['doses_not_seen']);
    expect(rules({ ...spent, planSeenMs: now - 3600 })).toEqual([]);
    expect(rules(withTests([...values, 7.05, 7.05, 7.05, 7.05].slice(-8), spent))).toEqual([]);
  });
});

it('alkalinity and calcium that suddenly fall together are named as precipitation', () => {
  const calcium = { ...example.estimate!, level: 420, levelSd: 3, demandPerDay: 7.147 * 2.2, demandSd: 1 };
  const both: AdviceInput = {
    ...withEstimate({ demandPerDay: 2.2, demandSd: 0.1 }),
    pastDemands: past(1),
    otherEstimates: { calcium },
    otherPastDemands: { calcium: past(7.147, 0.6) },
  };
  const advice = adviseDose(both);
  expect(advice.holdBacks.map(({ rule }) => rule)).toContain('may_precipitate');
  expect(advice.plan).toEqual([]);
  // Corals that came explain it.
  const arrived = { ...both, arrivalsMs: [now - 5 * dayMs] };
  expect(adviseDose(arrived).holdBacks.map(({ rule }) => rule)).not.toContain('may_precipitate');
});
