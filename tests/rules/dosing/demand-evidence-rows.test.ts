import { describe, expect, it } from 'vitest';
import {
  type DoseRow,
  demandEvidence,
  estimateSeries,
  type TestRow,
  UnknownSubstance,
  type WaterChangeRow,
} from '#rules/dosing/demand-series.ts';

const timeMs = Date.UTC(2026, 2, 2, 19);
const system = 'display';
const test = (more: Partial<TestRow> = {}): TestRow => ({ timeMs, system, analyte: 'calcium', value: 420, ...more });
const dose = (substance: string, grams: number): DoseRow => ({ timeMs, system, substance, grams });
const change = (more: Partial<WaterChangeRow> = {}): WaterChangeRow => ({ timeMs, system, volumeL: 20, ...more });
const options = { volumeL: 100, analyte: 'calcium' as const };

describe('the keeper’s three files as evidence', () => {
  it.each([
    // By formula weights (IUPAC 2021): 10 g CaCl2·2H2O of 147.008 g/mol hold 2.7263 g Ca, in 100 L 27.26 mg/L; 10 g NaHCO3 of
    // 84.006 g/mol are 119.04 mmol, in 100 L 1.1904 meq/L × 2.80385; 10 g MgCl2·6H2O of 203.295 g/mol hold 1.1956 g Mg.
    ['calcium', 'calcium chloride dihydrate', 27.263, 2],
    ['alkalinity', 'sodium bicarbonate', 3.3377, 3],
    ['magnesium', 'magnesium chloride hexahydrate', 11.956, 2],
  ] as const)('10 g for %s rise another analyte, or by another weight: %s', (analyte, substance, rise, digits) => {
    const doses = [dose(substance, 10), dose('sodium bicarbonate', 0)];
    const [found, ...others] = demandEvidence([], doses, [], { ...options, analyte });
    expect(found).toEqual({ timeMs, evidence: { is: 'dose', rise: expect.closeTo(rise, digits) } });
    // What adds nothing is no evidence.
    expect(others).toEqual([]);
  });

  it('the new water’s level of another analyte is taken', () => {
    const levels = { alkalinity_dKH: 9, calcium_mg_L: 440, magnesium_mg_L: 1350 };
    for (const [analyte, newLevel] of [
      ['alkalinity', 9],
      ['calcium', 440],
      ['magnesium', 1350],
    ] as const) {
      const [found] = demandEvidence([], [], [change(levels)], { ...options, analyte });
      expect(found!.evidence).toEqual({ is: 'water_change', share: 0.2, newLevel });
    }
    expect(demandEvidence([], [], [change()], options)[0]!.evidence).toEqual({ is: 'water_change', share: 0.2 });
    // Three times the volume in one long change.
    expect(demandEvidence([], [], [change({ volumeL: 300 })], options)[0]!.evidence).toMatchObject({ share: 1 });
  });

  it('entries of one minute count in another order than test, dose, water change', () => {
    const kinds = (found: ReturnType<typeof demandEvidence>) => found.map(({ evidence }) => evidence.is);
    const salts = [dose('calcium chloride dihydrate', 5)];
    expect(kinds(demandEvidence([test()], salts, [change()], options))).toEqual(['test', 'dose', 'water_change']);
    const early = [change({ timeMs: timeMs - 2 })];
    const late = [test({ timeMs: timeMs + 1, sd: 5 })];
    const sorted = demandEvidence(late, salts, early, options);
    expect(kinds(sorted)).toEqual(['water_change', 'dose', 'test']);
    expect(sorted.at(-1)).toEqual({ timeMs: timeMs + 1, evidence: { is: 'test', value: 420, sd: 5 } });
    expect(demandEvidence([test()], [], [], options)[0]!.evidence).toEqual({ is: 'test', value: 420 });
  });

  it.each([
    ['volume, L is 0, allowed: 0.001 to 10000000', () => demandEvidence([], [], [], { ...options, volumeL: 0 })],
    [
      'volume of the water change, L is -1, allowed: 0 to 10000000',
      () => demandEvidence([], [], [change({ volumeL: -1 })], options),
    ],
    ['unknown substance "moon dust"', () => demandEvidence([], [dose('moon dust', 1)], [], options)],
  ])('a number or a name that cannot be is counted: %s', (message, give) => {
    expect(give).toThrow(message);
  });

  it('a program cannot tell an unknown powder from a fault', () => {
    expect(new UnknownSubstance('moon dust')).toMatchObject({
      ...{ code: 'UNKNOWN_SUBSTANCE', name: 'UnknownSubstance', found: 'moon dust' },
    });
  });

  it('doses and water changes of another system are counted, or the step of the scale is lost', () => {
    const elsewhere = { system: 'frags' };
    const rows = (more: { resolution?: number } = {}) =>
      estimateSeries(
        [test(), test({ timeMs: timeMs + 86_400_000 }), test({ ...elsewhere, timeMs: timeMs + 5 })],
        [{ ...dose('calcium chloride dihydrate', 50), ...elsewhere }],
        [{ ...change({ calcium_mg_L: 900 }), ...elsewhere }],
        { ...options, ...more },
      );
    const alone = estimateSeries([test(), test({ timeMs: timeMs + 86_400_000 })], [], [], options);
    expect(rows().filter((row) => row.system === system)).toEqual(alone);
    // A scale of 20 mg/L: 20 / √12 = 5.77 more of doubt, as squares.
    const [first] = rows({ resolution: 20 });
    expect(first!.levelSd ** 2 - rows()[0]!.levelSd ** 2).toBeCloseTo(400 / 12, 6);
  });
});
