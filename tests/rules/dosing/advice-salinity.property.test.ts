import fc from 'fast-check';
import { expect, it } from 'vitest';
import { adviseSalinity } from '#rules/dosing/advice-salinity.ts';
import type { SalinityAdviceInput } from '#rules/dosing/advice-salinity-level.ts';

const number = (min: number, max: number) => fc.double({ min, max, noNaN: true });
const now = Date.UTC(2026, 5, 1, 8);

const input: fc.Arbitrary<SalinityAdviceInput> = fc
  .record({
    volumeL: number(50, 5000),
    middle: number(33, 36),
    width: number(1, 4),
    mostPerDay: fc.option(number(0.1, 1.5), { nil: undefined }),
    level: number(26, 41),
    scatterSd: number(0.01, 0.2),
    driftPerDay: number(0, 0.1),
    isWaterLow: fc.option(fc.boolean(), { nil: undefined }),
  })
  .map(({ volumeL, middle, width, mostPerDay, level, scatterSd, driftPerDay, isWaterLow }) => ({
    system: {
      volumeL,
      band: {
        ...{ low: middle - width / 2, high: middle + width / 2 },
        ...(mostPerDay === undefined ? {} : { mostPerDay }),
      },
    },
    probe: { level, scatterSd, ageMs: 1000, isSuspect: false },
    driftPerDay,
    ...(isWaterLow === undefined ? {} : { isWaterLow }),
    nowMs: now,
  }));

it('salinity moves faster in a day than the band allows, or away from the middle, or past it', () => {
  let acting = 0;
  fc.assert(
    fc.property(input, (drawn) => {
      const advice = adviseSalinity(drawn);
      if (advice.water === undefined) return;
      acting += 1;
      const { band } = drawn.system;
      const wanted = (band.low + band.high) / 2 - drawn.probe!.level;
      for (const change of advice.water.changeOnDay) {
        expect(Math.sign(change)).toBe(Math.sign(wanted));
        if (wanted > 0) expect(change + drawn.driftPerDay).toBeLessThanOrEqual((band.mostPerDay ?? 0.5) + 1e-9);
        else expect(-change).toBeLessThanOrEqual((band.mostPerDay ?? 0.5) + 1e-9);
      }
      expect(Math.abs(advice.water.totalChange)).toBeLessThanOrEqual(Math.abs(wanted) + 1e-9);
      for (const litres of advice.water.litresOnDay) expect(litres).toBeLessThanOrEqual(drawn.system.volumeL / 9);
    }),
    { numRuns: 400, seed: 31 },
  );
  expect(acting).toBeGreaterThan(100);
});

it('saltier water is freshened less today than water that is nearer to the middle', () => {
  fc.assert(
    fc.property(input, number(0, 2), (drawn, more) => {
      const further = { ...drawn, probe: { ...drawn.probe!, level: drawn.probe!.level + more } };
      const [near, far] = [drawn, further].map((each) => adviseSalinity(each));
      if (near!.kind === 'hold_back' || far!.kind === 'hold_back') return;
      // A step is rounded down to a jug's mark: 0.1 L of less than 10, 1 L of more than 100.
      const mark = (45 * Math.max(0.1, drawn.system.volumeL / 1000)) / drawn.system.volumeL;
      expect(far!.water?.changeOnDay[0] ?? 0).toBeLessThanOrEqual((near!.water?.changeOnDay[0] ?? 0) + mark);
    }),
    { numRuns: 300, seed: 32 },
  );
});
