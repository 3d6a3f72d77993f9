import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { pestPlan } from '#rules/arrivals/pest-plan.ts';
import { pests } from '#rules/arrivals/pests.ts';
import { dayMs } from '#rules/clock/durations.ts';

const flatworm = { pest: pests.acropora_flatworm, dipsMs: [0], inspectionsMs: [], nowMs: 0 };
const dips = (plan: ReturnType<typeof pestPlan>) => plan.tasks.filter(({ kind }) => kind === 'dip');
const days = (ms: number | undefined) => (ms ?? Number.NaN) / dayMs;

describe('any tank between 24 and 27 °C', () => {
  it('the second dip leaves the days after hatching and before maturity, or a warmer day moves it later', () => {
    const temperatures = fc.array(fc.double({ min: 24, max: 27, noNaN: true }), { minLength: 1, maxLength: 60 });
    fc.assert(
      fc.property(temperatures, fc.nat(), (all, index) => {
        const at = (list: number[]) =>
          dips(
            pestPlan({
              ...flatworm,
              warmth: {
                measured: list.map((temperature_C, day) => ({ startMs: day * dayMs, temperature_C })),
                expected_C: 25.5,
              },
            }),
          )[1]!;
        const second = at(all);
        expect(days(second.opensMs)).toBeGreaterThanOrEqual(11 - 1e-9);
        expect(days(second.opensMs)).toBeLessThanOrEqual((11 * 64) / 38 + 1e-9);
        expect(second.dueMs).toBeGreaterThan(second.opensMs!);
        expect(second.dueMs).toBeLessThan(second.closesMs!);
        expect(days(second.closesMs)).toBeLessThanOrEqual((27 * 64) / 38 + 1e-9);
        const warmer = all.map((temperature_C, day) => (day === index % all.length ? 27 : temperature_C));
        expect(at(warmer).dueMs).toBeLessThanOrEqual(second.dueMs + 1);
      }),
    );
  });
});
