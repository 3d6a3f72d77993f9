import { growthBeliefs, whenUseReaches } from '#rules/trend/demand-growth.ts';
import { diaryOf } from './history-coverage.ts';
import { seededRandom } from './seeded-random.ts';
import { dayMs, simulateTank, type TankCase } from './simulated-tank.ts';

const lookedDays = 120;

export type GrowthCover = {
  /** Share of the tanks whose use outgrew the limit within the 95 % interval. */
  held: number;
  outgrown: number;
  /** Middle of how far the likely day was off, days, of those that outgrew it. */
  offDays: number;
};

/** Invented tanks that grow, seen for three months and followed for four more: when does their use pass a limit? */
export function growthCover(seeds: readonly number[]): GrowthCover {
  let held = 0;
  const off: number[] = [];
  for (const seed of seeds) {
    const random = seededRandom(seed + 90_000);
    const seenDays = 90;
    const tank: TankCase = {
      ...{ name: `growing ${seed}`, days: seenDays + lookedDays, demand: random.between(0.5, 2.5), steps: [] },
      growthShare: 0.002 + 0.006 * random.gaussian(),
      growthSd: [0.002, 0.005, 0.012][Math.floor(random.between(0, 2.99))]!,
      ...{ testEvery: [1, 3], kitSd: random.between(0.06, 0.2), outlierChance: 0.02, lightShare: 0.7 },
      ...{ dosing: { by: 'pump', timesPerDay: 4 }, isByTests: true },
    };
    const simulated = simulateTank(tank, seed);
    const nowMs = simulated.startMs + seenDays * dayMs;
    const diary = diaryOf(simulated).filter(({ timeMs }) => timeMs <= nowMs);
    const limit = simulated.demandAt(nowMs) * random.between(1.15, 1.8);
    const when = whenUseReaches(growthBeliefs(diary, { analyte: 'alkalinity' }), limit, lookedDays);
    let truth: number | undefined;
    for (let day = 0; day < lookedDays && truth === undefined; day += 1)
      if (simulated.demandAt(nowMs + day * dayMs) >= limit) truth = day;
    const isAfterLow = when.low95Days !== undefined && truth !== undefined && truth >= when.low95Days;
    const isBeforeHigh = truth !== undefined && truth <= (when.high95Days ?? lookedDays);
    // Not outgrown so far: right, unless it should have been by now.
    held += Number(truth === undefined ? when.high95Days === undefined : isAfterLow && isBeforeHigh);
    if (truth !== undefined && when.likelyDays !== undefined) off.push(Math.abs(when.likelyDays - truth));
  }
  off.sort((a, b) => a - b);
  return {
    held: held / seeds.length,
    outgrown: off.length,
    offDays: off[Math.floor(off.length / 2)] ?? Number.NaN,
  };
}
