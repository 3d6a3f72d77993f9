import { describe, expect, test } from 'vitest';
import { containersOf } from '#hub/judgement/estimate/containers.ts';
import { demandEvidenceOf, dosedBetween } from '#hub/judgement/estimate/known-facts.ts';
import { planNow, planSeenMs } from '#hub/judgement/estimate/standing-plan.ts';
import { stocksGiven } from '#hub/judgement/estimate/stocks-given.ts';
import type { SystemConfig } from '#hub/model/config/schema.ts';
import { type SystemOverTime, systemAt, withPast } from '#hub/model/config/system-at.ts';
import type { NewEntry } from '#hub/model/journal/journal.ts';
import { configurationsSeen, heldBefore, noteConfiguration } from '#hub/reports/week/review/configuration-seen.ts';
import { dayMs, openPaperRoom, paperConfig, startMs } from './paper-room.ts';

/**
 * By hand: 50 g/L of Na2CO3 (105.99 g/mol, 2 eq/mol) are 0.9435 meq/mL; 100 mL in 400 L are 0.23587 meq/L, and
 * 1 meq/L = 2.80385 dKH: 0.66136 dKH. In 200 L it is twice that, and with 100 g/L twice again.
 */
const rise = 0.66136;
const [before] = paperConfig.systems;
if (before === undefined) throw new Error('the paper room has no system');
const changedMs = startMs + 10 * dayMs;

const entry = (
  kind: 'dose' | 'water_change' | 'test' | 'plan' | 'refill',
  day: number,
  body: Record<string, unknown>,
): NewEntry => {
  const timeMs = startMs + day * dayMs;
  return { kind, timeMs, recordedMs: timeMs, system: 'display', body } as unknown as NewEntry;
};

/** The configuration after a change of volume and strength on day 10. */
function changedRoom() {
  const room = openPaperRoom();
  noteConfiguration(room.store, paperConfig, startMs);
  const stocks = before!.stocks.map((stock) => (stock.id === 'soda' ? { ...stock, grams_per_litre: 100 } : stock));
  const now = { ...paperConfig, systems: [{ ...before!, volume_l: 200, stocks }] };
  noteConfiguration(room.store, now, changedMs);
  const [system] = withPast(now, heldBefore(configurationsSeen(room.store)), startMs + 20 * dayMs).systems;
  room.close();
  return system!;
}

/** The same as if nothing had ever been given by plan. */
function withoutPlan({ past = [], ...now }: SystemOverTime): SystemOverTime {
  const without = (system: SystemConfig): SystemConfig => ({ ...system, standing_plan: [] });
  return { ...without(now), past: past.map((held) => ({ ...held, system: without(held.system) })) };
}

/** 100 mL a day until day 10, then 40 mL: changed in the file, and by nobody on the page. */
function changedPlan() {
  const room = openPaperRoom();
  noteConfiguration(room.store, paperConfig, startMs);
  const now = {
    ...paperConfig,
    systems: [{ ...before!, standing_plan: [{ stock: 'soda', ml_per_day: 40, times_per_day: 4 }] }],
  };
  const [system] = withPast(now, heldBefore(configurationsSeen(room.store)), changedMs).systems;
  room.close();
  return system!;
}

describe('a standing plan that was changed in the file', () => {
  test('what the plan gave before is reckoned as that of now: the past is restated', () => {
    const system = changedPlan();
    const between = (from: number, to: number, entries: NewEntry[] = []) =>
      dosedBetween(system, 'alkalinity', entries, startMs + from * dayMs, startMs + to * dayMs);
    expect(between(2, 4)).toBeCloseTo(2 * rise, 4);
    expect(between(12, 14)).toBeCloseTo(2 * 0.4 * rise, 4);
    expect(between(9, 11)).toBeCloseTo(1.4 * rise, 4);
    const told = demandEvidenceOf(
      system,
      'alkalinity',
      [entry('test', 8, { analyte: 'alkalinity', value: 8 })],
      startMs + 12 * dayMs,
    );
    const planned = told.reduce((sum, { evidence }) => (evidence.is === 'dose' ? sum + evidence.rise : sum), 0);
    expect(planned).toBeCloseTo((2 + 2 * 0.4) * rise, 4);
    expect(planNow(system, [], startMs + 12 * dayMs)).toEqual([{ stock: 'soda', mlPerDay: 40, timesPerDay: 4 }]);
  });

  test('a plan of the page gives way to the file, or going back to the file goes back to what it said then', () => {
    const system = changedPlan();
    const between = (entries: NewEntry[], from: number, to: number) =>
      dosedBetween(system, 'alkalinity', entries, startMs + from * dayMs, startMs + to * dayMs);
    const own = entry('plan', 6, { stock: 'soda', ml_per_day: 10 });
    expect(between([own], 5, 12)).toBeCloseTo((1 + 0.1 * 6) * rise, 4);
    // Back to the file on day 8: 100 mL until it was changed on day 10.
    const back = entry('plan', 8, { stock: 'soda', ml_per_day: 0, configured: true });
    expect(between([own, back], 5, 12)).toBeCloseTo((1 + 0.2 + 2 + 0.8) * rise, 4);
  });

  test('a container is told as emptier than it is, by a plan that came after', () => {
    const filled = entry('refill', 0, { stock: 'soda', ml: 5000 });
    const [soda] = containersOf(changedPlan(), [filled], startMs + 12 * dayMs);
    expect(soda?.leftMl).toBeCloseTo(5000 - 1000 - 80, 6);
  });

  test('a file that was changed is taken for somebody who looked at the pump', () => {
    expect(planSeenMs(changedPlan(), [], ['soda'], startMs + 12 * dayMs)).toBeUndefined();
  });
});

describe('a volume and a strength that were changed', () => {
  test('a dose of before is reckoned with the volume of now: the past is restated', () => {
    const system = changedRoom();
    const entries = [
      entry('test', 1, { analyte: 'alkalinity', value: 8 }),
      entry('dose', 5, { stock: 'soda', ml: 100 }),
      entry('water_change', 6, { volume_l: 40 }),
      entry('dose', 15, { stock: 'soda', ml: 100 }),
      entry('water_change', 16, { volume_l: 40 }),
    ];
    const told = demandEvidenceOf(withoutPlan(system), 'alkalinity', entries, startMs + 20 * dayMs).map(
      ({ evidence }) => evidence,
    );
    expect(told).toMatchObject([
      { is: 'test' },
      { is: 'dose', rise: expect.closeTo(rise, 4) },
      { is: 'water_change', share: 0.1 },
      { is: 'dose', rise: expect.closeTo(4 * rise, 4) },
      { is: 'water_change', share: 0.2 },
    ]);
  });

  test('the doses of the plan before it are reckoned with the strength of now', () => {
    const system = changedRoom();
    const between = (from: number, to: number) =>
      dosedBetween(system, 'alkalinity', [], startMs + from * dayMs, startMs + to * dayMs);
    // The plan gives 100 mL a day throughout.
    expect(between(2, 4)).toBeCloseTo(2 * rise, 4);
    expect(between(12, 14)).toBeCloseTo(2 * 4 * rise, 4);
    expect(between(9, 11)).toBeCloseTo(rise + 4 * rise, 4);
  });

  test('a dose of this morning is reckoned with the volume that was changed at noon', () => {
    const system = changedRoom();
    const dose = entry('dose', 9.8, { stock: 'soda', ml: 100 });
    const { given, planned } = stocksGiven(withoutPlan(system), 'alkalinity', [dose], 8, startMs + 10.2 * dayMs);
    expect(given).toMatchObject([{ rise: expect.closeTo(rise, 4) }]);
    expect(planned).toEqual([]);
    const byPlan = stocksGiven(system, 'alkalinity', [], 8, startMs + 10.5 * dayMs).planned;
    const risen = byPlan.reduce((sum, { fromMs, toMs, risePerDay }) => sum + (risePerDay * (toMs - fromMs)) / dayMs, 0);
    expect(risen).toBeCloseTo(0.5 * rise + 0.5 * 4 * rise, 4);
  });

  test('a room whose file never changed has a past, or loses it at the next start', () => {
    const room = openPaperRoom();
    noteConfiguration(room.store, paperConfig, startMs);
    const [same] = withPast(paperConfig, heldBefore(configurationsSeen(room.store)), changedMs).systems;
    room.close();
    expect(same).toBe(before);
    const system = changedRoom();
    expect(systemAt(system, changedMs - 1).volume_l).toBe(400);
    expect(systemAt(system, changedMs).volume_l).toBe(200);
    // The same object each time: what was reckoned with it is kept by it.
    expect(systemAt(system, startMs)).toBe(systemAt(system, startMs + dayMs));
  });
});
