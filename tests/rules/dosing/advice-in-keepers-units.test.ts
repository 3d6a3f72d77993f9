import { expect, test } from 'vitest';
import { adviseDose } from '#rules/dosing/advice.ts';
import { adviseSalinity } from '#rules/dosing/advice-salinity.ts';
import type { SalinityAdviceInput } from '#rules/dosing/advice-salinity-level.ts';
import type { Advice, AdviceInput } from '#rules/dosing/advice-types.ts';
import { dayMs, example, now, withEstimate } from './advice-case.ts';

/** All that a person reads of a piece of advice. */
const wordsOf = ({ reason, cautions, sure, working, holdBacks, predicted }: Advice): string =>
  [
    ...[reason, ...cautions, sure.text, ...working, ...holdBacks.map(({ text }) => text)],
    ...(predicted?.sideEffects ?? []).map(({ text }) => text),
  ].join('\n');

const salty: SalinityAdviceInput = {
  system: { volumeL: 400, band: { low: 34, high: 36, mostPerDay: 0.5 } },
  probe: { level: 36.5, scatterSd: 0.03, ageMs: 60_000, isSuspect: false, atLastTest: 36.5 },
  lastTest: { timeMs: now - dayMs, value: 36.5, sd: 0.3 },
  ...{ driftPerDay: 0.01, nowMs: now },
};

const calcium = { level: 420, levelSd: 3, demandPerDay: 20, demandSd: 0.5, testsUsed: 14 };
const cases: Record<string, AdviceInput> = {
  'a dose': withEstimate({ level: 7.9, demandPerDay: 1.2 }),
  'too high': withEstimate({ level: 9.4 }),
  'wider than its band': withEstimate({ levelSd: 0.4 }),
  'rising by itself': withEstimate({ demandPerDay: -0.4 }),
  'a test that does not fit': withEstimate({ suspect: true }),
  'one test': withEstimate({ level: 7.6, testsUsed: 1 }),
  'salinity first': {
    ...withEstimate({ level: 7.6, demandPerDay: 1.3 }),
    water: { ...example.water, salinity: { value: 33, ageMs: 0 } },
  },
  'out of step with calcium': { ...example, otherEstimates: { calcium: { ...example.estimate!, ...calcium } } },
};

test.each(Object.entries(cases))('advice (%s) speaks dKH to a keeper who reads meq/L', (_name, input) => {
  expect(wordsOf(adviseDose(input))).toContain('dKH');
  const own = wordsOf(adviseDose({ ...input, units: { alkalinity: 'meq/L', calcium: 'mmol/L', salinity: 'sg' } }));
  expect(own).toContain('meq/L');
  expect(own).not.toMatch(/dKH|mg\/L/);
});

test('the number of advice is that of another unit than stands beside it', () => {
  const units = { alkalinity: 'meq/L' };
  // 1 dKH = 1/2.8 meq/L (10 mg CaO in a litre; CaO 56.08 g/mol, two equivalents): 7.9 dKH are 2.82 and 1.2 are 0.43.
  const { reason, plan } = adviseDose({ ...withEstimate({ level: 7.9, demandPerDay: 1.2 }), units });
  expect(reason).toMatch(/^Alkalinity is 2\.82 meq\/L/);
  expect(reason).toContain('The corals use 0.43 meq/L a day');
  expect(plan).toEqual(adviseDose(withEstimate({ level: 7.9, demandPerDay: 1.2 })).plan);
});

test('advice on salinity speaks another scale than the hydrometer of the keeper', () => {
  // Sea water of 36.5 at 25 °C, EOS-80: 1024.5 to 1024.6 kg/m3 by 997.05 of pure water, 1.0276.
  expect(adviseSalinity({ ...salty, units: { salinity: 'sg' } }).reason).toMatch(
    /^Salinity is 1\.027[5-7] sg, 0\.0011\d? sg above the middle of the band: exchange 5\.\d L for fresh water today/,
  );
  expect(wordsOf(adviseSalinity({ ...salty, units: { salinity: 'sg' } }))).not.toMatch(/36\.5|\b35\b/);
  expect(wordsOf(adviseSalinity(salty))).toContain('36.5');
});
