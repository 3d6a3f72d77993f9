import { describe, expect, it } from 'vitest';
import { startDemand, stepDemand } from '#rules/trend/demand-filter.ts';
import type { DatedDemandEvidence } from '#rules/trend/demand-track.ts';
import { type LotStep, lotStep } from '#rules/trend/new-lot.ts';
import { gaussian, seededRandom } from '../../../hub/demo/seeded-random.ts';

const dayMs = 86_400_000;
const lotSd = 0.15;
/** `TANKS=1000` is the long form. */
const tanks = Number(process.env['TANKS'] ?? 120);
const seed = 91;

/** A tank that uses and is dosed 1.2 dKH a day, tested each second day; the last tests are by a lot that reads `bias` higher. */
function stepOf(bias: number, testsAfter: number, random: () => number): LotStep | undefined {
  const demand = 0.8 + 0.8 * random();
  const openedMs = 50 * dayMs;
  let level = 7.5 + random();
  const diary: DatedDemandEvidence[] = [];
  for (let day = 0; day <= 50 + 2 * testsAfter; day += 1) {
    const timeMs = day * dayMs;
    if (day % 2 === 0) {
      const value = level + lotSd * gaussian(random) + (timeMs >= openedMs ? bias : 0);
      diary.push({ timeMs, evidence: { is: 'test', value, sd: lotSd } });
    }
    diary.push({ timeMs: timeMs + dayMs / 2, evidence: { is: 'dose', rise: demand } });
    level += demand - demand * (1 + 0.02 * gaussian(random));
  }
  let before = startDemand({ analyte: 'alkalinity' });
  for (const { timeMs, evidence } of diary) if (timeMs < openedMs) before = stepDemand(before, evidence, timeMs);
  return lotStep(diary, before, openedMs, lotSd);
}

describe('a new lot of a kit', () => {
  it('is accused where it agrees, or missed where it reads 0.8 dKH high, in simulated tanks', { timeout: 4e6 }, () => {
    const random = seededRandom(seed);
    const percent = 200 / tanks;
    const share = (bias: number) => {
      const steps = Array.from({ length: tanks / 2 }, () => stepOf(bias, 3, random)!);
      const held = steps.filter(({ step, sd }) => Math.abs(step - bias) <= 1.96 * sd).length * percent;
      return { said: steps.filter(({ isSaid }) => isSaid).length * percent, held };
    };
    const [agrees, disagrees] = [share(0), share(0.8)];
    console.log(
      `new lots, ${tanks} tanks, seed ${seed}, % said and % within 95 %:`,
      JSON.stringify({ agrees, disagrees }),
    );
    expect(agrees.said).toBeLessThan(3);
    expect(disagrees.said).toBeGreaterThan(80);
    expect(agrees.held).toBeGreaterThanOrEqual(92);
    expect(disagrees.held).toBeGreaterThanOrEqual(92);
  });

  it('is judged before anything is known of the water, or before it was used', () => {
    expect(lotStep([], startDemand({ analyte: 'alkalinity' }), 0, lotSd)).toBeUndefined();
    expect(stepOf(0, -1, seededRandom(2))).toBeUndefined();
  });
});
