import { describe, expect, it } from 'vitest';
import { pestPlan } from '#rules/arrivals/pest-plan.ts';
import { pests } from '#rules/arrivals/pests.ts';
import { dayMs } from '#rules/clock/durations.ts';

const flatworm = { pest: pests.acropora_flatworm, dipsMs: [0], inspectionsMs: [], nowMs: 0 };
const steady = (expected_C: number) => ({ measured: [], expected_C });
const dips = (plan: ReturnType<typeof pestPlan>) => plan.tasks.filter(({ kind }) => kind === 'dip');
const days = (ms: number | undefined) => (ms ?? Number.NaN) / dayMs;

describe('the second dip against the flatworm', () => {
  // 27 °C: eggs hatch after 11 days, the first that hatch may lay after 38 − 11 = 27; the middle is 19.
  it('at 27 °C it falls outside day 11 to 27', () => {
    const [, second, ...others] = dips(pestPlan({ ...flatworm, warmth: steady(27) }));
    expect(others).toHaveLength(0);
    expect(
      [days(second!.opensMs), days(second!.dueMs), days(second!.closesMs)].map((day) => Number(day.toFixed(6))),
    ).toEqual([11, 19, 27]);
    expect(second!.state).toBe('planned');
  });

  // 24 °C: 64/38 times as long: 18.53, 32 and 45.47 days.
  it('a cooler tank is dipped before the eggs have hatched', () => {
    const [, second] = dips(pestPlan({ ...flatworm, warmth: steady(24) }));
    expect(days(second!.opensMs)).toBeCloseTo((11 * 64) / 38, 6);
    expect(days(second!.dueMs)).toBeCloseTo(32, 6);
    expect(days(second!.closesMs)).toBeCloseTo((27 * 64) / 38, 6);
  });

  it('the date stays although the tank turned out colder', () => {
    const measured = Array.from({ length: 10 }, (_, index) => ({ startMs: index * dayMs, temperature_C: 24 }));
    const planned = pestPlan({ ...flatworm, warmth: steady(27) });
    const moved = pestPlan({ ...flatworm, nowMs: 10 * dayMs, warmth: { measured, expected_C: 27 } });
    // Ten days at 24 °C are worth 10·38/64 = 5.94 days at 27 °C: 4.06 days later.
    expect(days(dips(moved)[1]!.dueMs) - days(dips(planned)[1]!.dueMs)).toBeCloseTo(10 - 380 / 64, 6);
    expect(moved.measuredShare).toBeGreaterThan(0.3);
    expect(moved.clearMs).toBeGreaterThan(planned.clearMs);
  });

  it('a dip before the eggs hatched ends the plan', () => {
    const plan = pestPlan({ ...flatworm, dipsMs: [0, 7 * dayMs], nowMs: 8 * dayMs, warmth: steady(27) });
    expect(plan.warnings.join(' ')).toContain('does not count');
    const open = dips(plan).filter(({ state }) => state !== 'done');
    expect(open).toHaveLength(1);
    expect(days(open[0]!.dueMs)).toBeCloseTo(19, 6);
  });

  it('a dip in its window is asked for again, or the watch ends before a generation has passed', () => {
    const plan = pestPlan({ ...flatworm, dipsMs: [20 * dayMs, 0], nowMs: 21 * dayMs, warmth: steady(27) });
    expect(dips(plan).every(({ state }) => state === 'done')).toBe(true);
    expect(plan.warnings).toEqual([]);
    expect(days(plan.clearMs)).toBeCloseTo(58, 6);
  });

  it('a dip that was missed or late goes unremarked', () => {
    const missed = pestPlan({ ...flatworm, nowMs: 30 * dayMs, warmth: steady(27) });
    expect(dips(missed)[1]!.state).toBe('late');
    expect(missed.warnings.join(' ')).toContain('as soon as you can');
    const late = pestPlan({ ...flatworm, dipsMs: [0, 30 * dayMs], nowMs: 31 * dayMs, warmth: steady(27) });
    expect(late.warnings.join(' ')).toContain('one more');
    expect(days(dips(late)[2]!.dueMs)).toBeCloseTo(49, 6);
    expect(dips(pestPlan({ ...flatworm, nowMs: 12 * dayMs, warmth: steady(27) }))[1]!.state).toBe('due');
  });

  // Nothing was dipped since day 0 and it is day 30: what hatches from now on is clear 38 days from now, not from the planned day.
  it('a missed dip lets the watch end as if it had been given, or the tasks come out of order', () => {
    const missed = pestPlan({ ...flatworm, nowMs: 30 * dayMs, warmth: steady(27) });
    expect(days(missed.clearMs)).toBeCloseTo(68, 6);
    const due = missed.tasks.map(({ dueMs }) => dueMs);
    expect(due).toEqual(due.toSorted((one, other) => one - other));
    expect(missed.tasks.at(-1)).toMatchObject({ kind: 'inspection', state: 'planned' });
  });

  it('a tank outside the studied temperatures gets dates without a word', () => {
    expect(pestPlan({ ...flatworm, warmth: steady(29) }).warnings.join(' ')).toContain('extrapolated');
    expect(pestPlan({ ...flatworm, warmth: steady(25.5) }).warnings).toEqual([]);
    expect(() => pestPlan({ ...flatworm, warmth: steady(19) })).toThrow(/too cold/);
    expect(() => pestPlan({ ...flatworm, dipsMs: [], warmth: steady(26) })).toThrow(/dips done/);
  });
});

describe('inspections', () => {
  it('weeks go by without one, or a done one is asked for again', () => {
    const plan = pestPlan({
      ...flatworm,
      inspectionsMs: [8 * dayMs],
      nowMs: 22 * dayMs,
      dipsMs: [0, 20 * dayMs],
      warmth: steady(27),
    });
    const found = plan.tasks.filter(({ kind }) => kind === 'inspection');
    expect(found.map(({ dueMs }) => Number(days(dueMs).toFixed(6)))).toEqual([7, 14, 21, 28, 35, 42, 49, 56, 58]);
    expect(found.map(({ state }) => state).slice(0, 4)).toEqual(['done', 'late', 'due', 'planned']);
  });

  it('pests without a published life cycle are not said to be common practice', () => {
    for (const pest of Object.values(pests)) {
      if (pest.window.kind === 'days') expect(pest.source).toContain('common practice, no published source');
    }
    const red = pestPlan({ ...flatworm, pest: pests.acropora_red_bug, warmth: steady(26) });
    expect(dips(red).map(({ dueMs }) => days(dueMs))).toEqual([0, 7, 14]);
  });
});

describe('pests whose dips are counted in days', () => {
  const from = Date.UTC(2026, 10, 2, 9);
  const of = (id: keyof typeof pests, dipDays: number[], nowDay: number) =>
    pestPlan({
      ...{ pest: pests[id], inspectionsMs: [], warmth: steady(25), nowMs: from + nowDay * dayMs },
      dipsMs: dipDays.map((day) => from + day * dayMs),
    });
  const due = (plan: ReturnType<typeof pestPlan>) =>
    dips(plan).map(({ dueMs, state }) => [(dueMs - from) / dayMs, state]);

  // Dips a week or so apart, each in the middle of its window, and six weeks of watching after the last: common practice, no published
  // source.
  it.each([
    ['montipora_nudibranch', [7.5, 15, 22.5], 22.5 + 42],
    ['acropora_red_bug', [7, 14], 14 + 28],
    ['none_seen', [], 42],
  ] as const)('%s is dipped on other days, or watched for less long', (id, days, clear) => {
    const plan = of(id, [0], 0);
    expect(due(plan)).toEqual([[0, 'done'], ...days.map((day) => [day, 'planned'])]);
    expect((plan.clearMs - from) / dayMs).toBe(clear);
    expect(plan).toMatchObject({ warnings: [], measuredShare: 1 });
    // Weekly, and once more on the last day.
    const looks = plan.tasks.filter(({ kind }) => kind === 'inspection').map(({ dueMs }) => (dueMs - from) / dayMs);
    expect(looks).toEqual([
      ...Array.from({ length: Math.floor(clear / 7) }, (_, week) => 7 * (week + 1)),
      ...(clear % 7 === 0 ? [] : [clear]),
    ]);
  });

  it('a first repeat dip ends the plan of one that needs three, or a dip too many begins it again', () => {
    expect(due(of('montipora_nudibranch', [0, 7], 7)).map(([day]) => day)).toEqual([0, 7, 14.5, 22]);
    expect(due(of('none_seen', [0, 10], 10))).toEqual([
      [0, 'done'],
      [10, 'done'],
    ]);
  });

  it('a dip on the first or the last day of its window does not count', () => {
    for (const day of [6, 9]) {
      const plan = of('montipora_nudibranch', [0, day], day);
      expect([day, dips(plan).length, plan.warnings]).toEqual([day, 4, []]);
    }
  });

  it('a dip is due a day late, or late on the last day of its window', () => {
    const state = (day: number) => dips(of('montipora_nudibranch', [0], day))[1]?.state;
    expect([state(5.9), state(6), state(9), state(9.1)]).toEqual(['planned', 'due', 'due', 'late']);
  });

  it('an inspection is late or asked for again within half a week of its day', () => {
    const first = (nowDay: number, doneDay?: number) =>
      pestPlan({
        ...{ pest: pests.none_seen, dipsMs: [from], warmth: steady(25), nowMs: from + nowDay * dayMs },
        inspectionsMs: doneDay === undefined ? [] : [from + doneDay * dayMs],
      }).tasks.find(({ kind }) => kind === 'inspection')?.state;
    expect([first(6.9), first(7), first(10.5), first(10.6)]).toEqual(['planned', 'due', 'due', 'late']);
    expect([first(12, 3.5), first(12, 10.5), first(12, 3.4)]).toEqual(['done', 'done', 'late']);
  });
});

it('a pest is listed under another name, or without what to look for and where that is from', () => {
  for (const [id, pest] of Object.entries(pests)) {
    expect(pest.id).toBe(id);
    // flatworm, nudibranch, red bug, no pest: the label is the id in a keeper's words.
    for (const word of id.split('_').filter((part) => part !== 'none'))
      expect(pest.label.toLowerCase(), id).toContain(word === 'seen' ? 'seen' : word);
    expect(pest.lookFor, id).toMatch(/marks|slugs|dots/);
    expect(pest.source, id).toMatch(/common practice, no published source$/);
  }
  expect(pests.acropora_flatworm.source).toContain('Barton et al. 2019');
});
