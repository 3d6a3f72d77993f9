import { expect, test } from 'vitest';
import type { JournalKind } from '#adapters/ports/store.ts';
import { containersOf } from '#hub/judgement/estimate/containers.ts';
import { currentRisePerDay, demandEvidenceOf, dosedBetween } from '#hub/judgement/estimate/known-facts.ts';
import { planNow } from '#hub/judgement/estimate/standing-plan.ts';
import { stocksGiven } from '#hub/judgement/estimate/stocks-given.ts';
import { configSchema } from '#hub/model/config/schema.ts';
import { type Entry, readEntry } from '#hub/model/journal/journal.ts';

const dayMs = 86_400_000;
const startMs = Date.UTC(2026, 0, 5);
const at = (day: number): number => startMs + day * dayMs;

const [system] = configSchema.parse({
  site: { name: 'Invented room' },
  systems: [
    {
      ...{ id: 'display', name: 'Display', volume_l: 400, bands: { alkalinity: { low: 7.5, high: 9 } } },
      stocks: [
        { id: 'soda', name: 'Soda solution', substance: 'sodium_carbonate', grams_per_litre: 50, container_ml: 5000 },
        { id: 'dry', name: 'Bicarbonate, dry', substance: 'sodium_bicarbonate' },
      ],
      standing_plan: [{ stock: 'soda', ml_per_day: 100, times_per_day: 4 }],
    },
  ],
}).systems;
if (system === undefined) throw new Error('no system');

function entry(kind: JournalKind, day: number, body: Record<string, unknown>): Entry {
  const read = readEntry({ id: 0, kind, timeMs: at(day), recordedMs: at(day), system: 'display', body });
  if (read === undefined) throw new Error(`no ${kind}: ${JSON.stringify(body)}`);
  return read;
}

// By hand: 100 mL x 50 g/L = 5 g Na2CO3 (105.988 g/mol, IUPAC 2021) = 0.047175 mol = 94.350 meq in 400 L = 0.23588 meq/L;
// 1 dKH = 0.3566525 meq/L (fixtures/reference/unit-conversions.csv), so 0.66136 dKH a day.
const planned_dKH = 0.66136;

test('a plan that was changed goes on in the estimate as it was', () => {
  const stopped = [entry('plan', 3, { stock: 'soda', ml_per_day: 0 })];
  expect(planNow(system, [], at(5))).toEqual([{ stock: 'soda', mlPerDay: 100, timesPerDay: 4 }]);
  expect(planNow(system, stopped, at(5))).toEqual([]);
  expect(currentRisePerDay(system, 'alkalinity', [], at(5))).toBeCloseTo(planned_dKH, 4);
  expect(dosedBetween(system, 'alkalinity', [], at(0), at(4))).toBeCloseTo(4 * planned_dKH, 3);
  expect(dosedBetween(system, 'alkalinity', stopped, at(0), at(4))).toBeCloseTo(3 * planned_dKH, 3);
});

test('what the plan gave before the last test is counted after it', () => {
  const entries = [
    entry('test', 0, { analyte: 'alkalinity', value: 8 }),
    entry('test', 2, { analyte: 'alkalinity', value: 8 }),
  ];
  const evidence = demandEvidenceOf(system, 'alkalinity', entries, at(3));
  const dosedUpTo = (day: number) =>
    evidence.reduce(
      (sum, { timeMs, evidence: each }) => (each.is === 'dose' && timeMs <= at(day) ? sum + each.rise : sum),
      0,
    );
  expect(dosedUpTo(2)).toBeCloseTo(2 * planned_dKH, 3);
  expect(dosedUpTo(3)).toBeCloseTo(3 * planned_dKH, 3);
  expect(evidence.map(({ timeMs }) => timeMs)).toEqual(evidence.map(({ timeMs }) => timeMs).toSorted((a, b) => a - b));
});

test('a dose at the moment of a refill is taken from nowhere, or one before it from the new filling', () => {
  const placed = (id: number, kind: JournalKind, body: Record<string, unknown>) => ({ ...entry(kind, 1, body), id });
  const dose = (id: number) => placed(id, 'dose', { stock: 'soda', ml: 700 });
  const leftWith = (...entries: Entry[]) => containersOf(system, entries, at(1))[0]?.leftMl;
  const refill = placed(5, 'refill', { stock: 'soda', ml: 5000 });
  expect(leftWith(refill, dose(6))).toBe(4300);
  expect(leftWith(dose(4), refill)).toBe(5000);
  // Of two refills of one moment the second is how full it is.
  expect(leftWith(refill, placed(7, 'refill', { stock: 'soda', ml: 3000 }))).toBe(3000);
});

test('an empty container is told as full', () => {
  expect(containersOf(system, [], at(10))).toEqual([]);
  const filled = entry('refill', 0, { stock: 'soda', ml: 5000 });
  // 10 days at 100 mL, and 500 mL by hand within the last week: 3500 mL left at 1200 / 7 mL a day.
  const dosed = entry('dose', 6, { stock: 'soda', ml: 500 });
  const [soda] = containersOf(system, [filled, dosed], at(10));
  expect(soda).toMatchObject({ stock: 'soda', leftMl: expect.closeTo(3500, 6) });
  expect(soda?.daysLeft).toBeCloseTo(3500 / (1200 / 7), 6);
  const [again] = containersOf(system, [filled, dosed, entry('refill', 9, { stock: 'soda', ml: 5000 })], at(10));
  expect(again?.leftMl).toBeCloseTo(4900, 6);
});

test('a reactor reaches advice as one dose of bicarbonate', () => {
  const [withReactor] = configSchema.parse({
    site: { name: 'Invented room' },
    systems: [
      {
        ...{ id: 'display', name: 'Display', volume_l: 400, bands: { alkalinity: { low: 7.5, high: 9 } } },
        stocks: [
          {
            ...{ id: 'reactor', name: 'Reactor', substance: 'calcium_reactor' },
            effluent: { alkalinity_dkh: 25, ph: 6.6 },
          },
        ],
        standing_plan: [{ stock: 'reactor', ml_per_day: 20_000 }],
      },
    ],
  }).systems;
  const [stock] = stocksGiven(withReactor!, 'alkalinity', [], 8, at(1)).stocks;
  expect(stock?.product.timesPerDay).toBe(48);
  expect(stock?.product.made).toMatchObject({
    effluent: { alkalinity_dKH: 25, tankAlkalinity_dKH: 8, phNbs: 6.6 },
  });
});
