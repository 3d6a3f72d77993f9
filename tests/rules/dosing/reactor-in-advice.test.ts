import { describe, expect, test } from 'vitest';
import { adviseDose } from '#rules/dosing/advice.ts';
import type { AdviceInput, AdviceProduct } from '#rules/dosing/advice-types.ts';
import { effluentCarbon_mol_eq } from '#rules/dosing/calcium-reactor.ts';
import { largestFlowAbovePh, settledPhOfFlow } from '#rules/dosing/reactor-ph.ts';
import { OutOfRange } from '#rules/quantity/out-of-range.ts';
import { dayMs, now, stockOf, withEstimate } from './advice-case.ts';

/**
 * Carbonate system of salinity 35 at 25 °C, typed here apart from the rules: check values of Dickson, Sabine & Christian 2007, Guide to best
 * practices for ocean CO2 measurements, chapter 5 (fixtures/reference/carbonate-constants.csv); boron of Uppstrom 1974.
 */
const [k1, k2, kb, kw] = [10 ** -5.8472, 10 ** -8.966, Math.exp(-19.7964), Math.exp(-30.434)];
const boron = 415.7;
const other = (h: number): number => (boron * kb) / (kb + h) + (kw / h - h) * 1e6;
const dicOf = (alkalinity: number, ph: number): number => {
  const h = 10 ** -ph;
  return ((alkalinity - other(h)) * (h * h + k1 * h + k1 * k2)) / (k1 * h + 2 * k1 * k2);
};
const co2Of = (dic: number, ph: number): number => {
  const h = 10 ** -ph;
  return (dic * h * h) / (h * h + k1 * h + k1 * k2);
};
function phOf(alkalinity: number, dic: number): number {
  let [low, high] = [4, 10];
  for (let step = 0; step < 60; step += 1) {
    const middle = (low + high) / 2;
    if (dicOf(alkalinity, middle) > dic) low = middle;
    else high = middle;
  }
  return low;
}

/** EOS-80 at salinity 35 and 25 °C (fixtures/reference/seawater-density.csv: 1.02334), and 0.35665 meq/L for each dKH. */
const umol = (dKH: number): number => (dKH * 0.35665 * 1000) / 1.02334;
const reef = { salinity: 35, temperature_C: 25 };
const night = { ...reef, totalAlkalinity_umol_kg: 2400, phTotal: 7.9 };

describe('carbon dioxide of a calcium reactor in advice', () => {
  test.each([
    [25, 6.4],
    [20, 6.8],
    [40, 6.2],
  ])('effluent of %f dKH at pH %f is taken for bicarbonate', (dKH, ph) => {
    const found = effluentCarbon_mol_eq({
      ...reef,
      ...{ tankAlkalinity_dKH: 8, tankPhTotal: 8.05, effluentAlkalinity_dKH: dKH, effluentPhTotal: ph },
    })!;
    const expected = (dicOf(umol(dKH), ph) - dicOf(umol(8), 8.05)) / (umol(dKH) - umol(8));
    expect(found / expected).toBeCloseTo(1, 3);
    expect(found).toBeGreaterThan(1.1);
  });

  test.each([
    [0.5, 350, 1.4],
    [2, 350, 1.4],
    [4, 700, 1.7],
  ])('at %f/h a flow that goes on settles at another pH than a tank followed step by step', (k, extra, carbon) => {
    const { totalAlkalinity_umol_kg: alkalinity, phTotal } = night;
    let dic = dicOf(alkalinity, phTotal);
    const start = co2Of(dic, phTotal);
    // While the level fell by `extra` a day at one CO2, the carbon in it fell along.
    const fall = dic - dicOf(alkalinity - 1, phAtCo2(alkalinity - 1, start));
    for (let minute = 0; minute < 60 * 24 * 40; minute += 5) {
      const co2 = co2Of(dic, phOf(alkalinity, dic));
      dic += (((carbon - fall) * extra) / 24 - k * (co2 - start)) / 12;
    }
    const found = settledPhOfFlow({ ...night, carbon_mol_eq: carbon, coefficient_per_h: k }, extra);
    expect(Math.abs(found - phOf(alkalinity, dic))).toBeLessThan(0.003);
    expect(found).toBeLessThan(phTotal - 0.02);
    // The other way round: as much flow as leads there.
    const flow = { ...night, carbon_mol_eq: carbon, coefficient_per_h: k };
    expect(largestFlowAbovePh(flow, found) / extra).toBeCloseTo(1, 6);
  });

  test('a flow that brings no carbon to get rid of is limited, or one into water that is too low already is not', () => {
    expect(largestFlowAbovePh({ ...night, carbon_mol_eq: 0.5 }, 7.8)).toBe(Number.POSITIVE_INFINITY);
    expect(largestFlowAbovePh({ ...night, carbon_mol_eq: 1.4 }, 7.9)).toBe(0);
    expect(() => settledPhOfFlow({ ...night, carbon_mol_eq: -1 }, 100)).toThrow(OutOfRange);
    expect(() => settledPhOfFlow({ ...night, carbon_mol_eq: 1.4, coefficient_per_h: 0 }, 100)).toThrow(OutOfRange);
  });

  test('the pH of the night goes below the band by a reactor that is turned up', () => {
    const little = adviseDose(tank({ lowestOfDay: 7.83 }));
    expect(little.plan[0]!.risePerDay).toBeLessThan(1.1);
    expect(little.predicted!.nightPh!.after).toBeGreaterThanOrEqual(7.8 - 0.14);
    expect(little.cautions.join(' ')).toContain('carbon dioxide in more of Reactor would take it below 7.80');
    const low = adviseDose(tank({ lowestOfDay: 7.79 }));
    expect(low.plan).toEqual([]);
    expect(low.holdBacks.map(({ rule }) => rule)).toContain('low_ph_limit');
    expect(low.reason).toContain('carbon dioxide in more of Reactor');
    const high = adviseDose(tank({ lowestOfDay: 8.15 }));
    expect(high.plan[0]?.risePerDay).toBeGreaterThan(1);
    // Without gas exchange known, by the slow one that is assumed: a relaxation in 24 h.
    const { before, after } = high.predicted!.nightPh!;
    const extra = umol(high.plan[0]!.risePerDay - 1);
    const dic = dicOf(umol(8), before);
    const perCo2 = (dicOf(umol(8), before - 0.01) - dicOf(umol(8), before + 0.01)) / changeOfCo2(before);
    const carbon = effluentCarbon_mol_eq({
      ...{ ...reef, tankAlkalinity_dKH: 8, tankPhTotal: 8.25 - 0.13, effluentAlkalinity_dKH: 25 },
      effluentPhTotal: 6.5 - 0.13,
    })!;
    const fall = dic - dicOf(umol(8) - 1, phAtCo2(umol(8) - 1, co2Of(dic, before)));
    const co2 = co2Of(dic, before) + ((carbon - fall) * extra) / perCo2;
    expect(Math.abs(after - phAtCo2(umol(8), co2))).toBeLessThan(0.01);
    expect(high.working.join(' ')).toContain('Carbon dioxide of the reactor');
    expect(high.cautions.join(' ')).toContain('Carbon dioxide from a bottle');
    expect(high.cautions.join(' ')).toContain('pH 6.5 of the effluent');
  });

  test('a tank that is known to get rid of carbon dioxide quickly is held as one that is not', () => {
    const gasTransfer = { coefficient_per_h: 4, low95: 3, high95: 5, isWellKnown: true };
    const at = (known?: typeof gasTransfer): AdviceInput => {
      const input = tank({ lowestOfDay: 7.93 });
      return { ...input, system: { ...input.system, ...(known === undefined ? {} : { gasTransfer: known }) } };
    };
    const rise = (input: AdviceInput): number => adviseDose(input).plan[0]?.risePerDay ?? 1;
    expect(rise(at(gasTransfer))).toBeGreaterThan(rise(at()));
    // What is found but not well known never loosens the limit.
    expect(rise(at({ ...gasTransfer, isWellKnown: false }))).toBe(rise(at()));
    expect(adviseDose(at(gasTransfer)).predicted!.nightPh!.low95).toBeLessThan(8);
  });
});

/** 2.3 mL for each 100 L of what the level needs; the tank of the example uses 1.5 dKH a day and is given 1. */
function tank(ph: { lowestOfDay: number }): AdviceInput {
  const perMl = (25 - 8) / 1000 / 100;
  const reactor: AdviceProduct = {
    ...{ id: 'reactor', name: 'Reactor', timesPerDay: 48 },
    made: {
      ...{ of: 'own_strength', raises: 'alkalinity', raises100LByPerMl: perMl, addition: 'bicarbonate' },
      effluent: { alkalinity_dKH: 25, tankAlkalinity_dKH: 8 },
    },
  };
  const input = withEstimate({ level: 8, demandPerDay: 1.5, demandSd: 0.03 });
  const { system } = input;
  return {
    ...input,
    system: { ...system, otherBands: { ...system.otherBands, ph: { low: 7.8, high: 8.5 } } },
    stocks: [stockOf(reactor, 1 / ((perMl * 100) / 420))],
    planned: [{ fromMs: now - dayMs, toMs: now, risePerDay: 1 }],
    lastTests: input.lastTests.map((test, at) => ({ ...test, value: 9.5 - 0.5 * at })),
    water: { ...input.water, ph: { value: 8.2, ageMs: 60_000, scale: 'nbs', highestOfDay: 8.25, ...ph } },
  };
}

function phAtCo2(alkalinity: number, co2: number): number {
  let [low, high] = [5, 9.5];
  for (let step = 0; step < 60; step += 1) {
    const middle = (low + high) / 2;
    if (co2Of(dicOf(alkalinity, middle), middle) > co2) low = middle;
    else high = middle;
  }
  return low;
}

function changeOfCo2(ph: number): number {
  const at = (value: number): number => co2Of(dicOf(umol(8), value), value);
  return at(ph - 0.01) - at(ph + 0.01);
}
