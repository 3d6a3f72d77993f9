import {
  learnedVolume,
  logEvidenceOfVolume,
  nextVolumeToWeigh,
  type WeighedVolume,
} from '#rules/trend/learned-volume.ts';
import { diaryOf } from './history-coverage.ts';
import { seededRandom } from './seeded-random.ts';
import { simulateTank, type TankCase } from './simulated-tank.ts';
import { randomTank } from './tank-cases.ts';

/** An invented system whose keeper states another volume than the true one, and corrects by hand now and then. */
export function misstatedTank(seed: number): TankCase {
  const random = seededRandom(seed + 70_000);
  const { levelNoise: _, ...tank } = randomTank(seed);
  return {
    ...tank,
    days: Math.min(120, tank.days),
    isByTests: true,
    volumeRatio: Math.exp(0.25 * random.gaussian()),
  };
}

export type VolumeCover = {
  tanks: number;
  /** Share of all tanks whose true volume lies in the 95 % interval. */
  covered: number;
  learned: number;
  coveredOfLearned: number;
  /** Root mean square of the error of those learned, percent of the true volume. */
  errorPercent: number;
  /** Half the width of their interval, percent, in the middle. */
  halfWidthPercent: number;
};

export function volumeCover(seeds: readonly number[]): VolumeCover {
  let covered = 0;
  const learned: { isCovered: boolean; error: number; half: number }[] = [];
  for (const seed of seeds) {
    const tank = misstatedTank(seed);
    const diary = diaryOf(simulateTank(tank, seed));
    const weighed: WeighedVolume[] = [];
    for (let at = nextVolumeToWeigh(weighed); at !== undefined; at = nextVolumeToWeigh(weighed))
      weighed.push({ logRatio: at, logEvidence: { alkalinity: logEvidenceOfVolume('alkalinity', diary, at) } });
    const found = learnedVolume(weighed);
    const isCovered = found.low95 <= tank.volumeRatio! && tank.volumeRatio! <= found.high95;
    covered += Number(isCovered);
    if (found.isLearned)
      learned.push({
        isCovered,
        error: found.ratio / tank.volumeRatio! - 1,
        half: (found.high95 - found.low95) / 2 / found.ratio,
      });
  }
  const halves = learned.map(({ half }) => half).sort((a, b) => a - b);
  return {
    ...{ tanks: seeds.length, covered: covered / seeds.length, learned: learned.length },
    coveredOfLearned: learned.filter(({ isCovered }) => isCovered).length / learned.length,
    errorPercent: 100 * Math.sqrt(learned.reduce((sum, { error }) => sum + error ** 2, 0) / learned.length),
    halfWidthPercent: 100 * (halves[Math.floor(halves.length / 2)] ?? Number.NaN),
  };
}
