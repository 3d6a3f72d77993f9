import { describe, expect, test } from 'vitest';
import { demandEvidenceOf, dosedBetween } from '#hub/judgement/estimate/known-facts.ts';
import { systemAt, withPast } from '#hub/model/config/system-at.ts';
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

const entry = (kind: 'dose' | 'water_change' | 'test', day: number, body: Record<string, unknown>): NewEntry => {
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
    const withoutPlan = { ...system, standing_plan: [] };
    const told = demandEvidenceOf(withoutPlan, 'alkalinity', entries, startMs + 20 * dayMs).map(
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
