import { seededRandom } from './seeded-random.ts';
import type { TankCase } from './simulated-tank.ts';

const usual: TankCase = {
  name: 'steady',
  days: 90,
  demand: 1,
  growthSd: 0.005,
  growthShare: 0,
  steps: [],
  testEvery: [0.8, 2.5],
  kitSd: 0.12,
  statedSd: 0.12,
  outlierChance: 0,
  dosing: { by: 'pump', timesPerDay: 12 },
  lightShare: 0.7,
};

const { statedSd: _, ...unstated } = usual;

/** Invented systems from 50 to 5,000 L: what volume changes is how much one dose or a kit error weighs against the demand. */
export const tankCases: readonly TankCase[] = [
  usual,
  { ...usual, name: 'steady, large demand', demand: 4, testEvery: [0.5, 1.5], lightShare: 0.75 },
  { ...usual, name: 'steady, small demand', demand: 0.1, growthSd: 0.02, testEvery: [1, 4] },
  { ...usual, name: 'wandering demand', demand: 1.5, growthSd: 0.04 },
  { ...usual, name: 'growing 1 % a day', demand: 0.8, growthSd: 0.01, growthShare: 0.01 },
  { ...usual, name: 'growing 2 % a day', days: 70, demand: 0.5, growthSd: 0.005, growthShare: 0.02 },
  { ...usual, name: 'step at a logged arrival', demand: 1.2, steps: [{ day: 40, factor: 1.35, isLogged: true }] },
  { ...usual, name: 'step that nobody logged', demand: 1.2, steps: [{ day: 40, factor: 1.6 }] },
  { ...usual, name: 'demand halves in trouble', demand: 2, steps: [{ day: 50, factor: 0.5 }] },
  { ...usual, name: 'sparse tests', days: 180, testEvery: [5, 14], growthSd: 0.02 },
  { ...usual, name: 'coarse kit, 0.5 steps', kitSd: 0.3, statedSd: 0.3, resolution: 0.5 },
  { ...usual, name: 'kit sd 0.5', kitSd: 0.5, statedSd: 0.5, testEvery: [1, 3] },
  { ...usual, name: 'fine kit 0.05', kitSd: 0.05, statedSd: 0.05, demand: 2.5, growthSd: 0.015 },
  { ...usual, name: 'kit twice as noisy as stated', kitSd: 0.3, statedSd: 0.15 },
  { ...usual, name: 'kit half as noisy as stated', kitSd: 0.08, statedSd: 0.16 },
  { ...unstated, name: 'kit says nothing', kitSd: 0.25 },
  { ...usual, name: 'one test in twelve outlying', outlierChance: 0.08, growthSd: 0.015 },
  {
    ...usual,
    name: 'big water changes',
    waterChange: { everyDays: 10, share: 0.3, level: 11 },
    dosing: { by: 'none' },
    demand: 0.25,
  },
  {
    ...usual,
    name: 'lime in a small tank',
    demand: 3,
    dosing: { by: 'pump', timesPerDay: 96 },
    growthSd: 0.03,
    lightShare: 0.8,
  },
  { ...usual, name: 'irregular hand dosing', demand: 1, dosing: { by: 'hand' }, growthSd: 0.02 },
  { ...usual, name: 'two weeks without a test', gap: [40, 54], growthSd: 0.02, demand: 1.5 },
  { ...usual, name: 'no light cycle', lightShare: 0.5, demand: 2 },
];

/** A system drawn at random over the whole range of what keepers have: small and large demand, fine and coarse kits. */
export function randomTank(seed: number): TankCase {
  const random = seededRandom(seed);
  const logBetween = (low: number, high: number): number => low * (high / low) ** random.uniform();
  const chance = (share: number): boolean => random.uniform() < share;
  const interval = logBetween(0.5, 9);
  const kitSd = logBetween(0.05, 0.5);
  const demand = logBetween(0.1, 4);
  const days = Math.min(240, Math.max(60, 40 * interval));
  const hasChange = chance(0.4) || demand < 0.2;
  return {
    name: `random ${seed}`,
    ...{ days, demand, kitSd, testEvery: [interval * 0.6, interval * 1.5], lightShare: random.between(0.5, 0.85) },
    growthSd: logBetween(0.002, 0.04),
    growthShare: chance(0.2) ? random.between(-0.003, 0.008) : 0,
    steps: chance(0.4)
      ? [{ day: random.between(15, days - 10), factor: random.between(0.6, 1.7), isLogged: chance(0.5) }]
      : [],
    ...(chance(0.7) ? { statedSd: kitSd * (chance(0.6) ? 1 : logBetween(0.5, 2)) } : {}),
    ...(chance(0.4) ? { resolution: [0.1, 0.2, 0.5][Math.floor(random.between(0, 2.99))]! } : {}),
    outlierChance: chance(0.5) ? random.between(0.01, 0.06) : 0,
    ...(hasChange
      ? {
          waterChange: {
            everyDays: Math.round(random.between(5, 20)),
            share: random.between(0.05, 0.3),
            level: random.between(7, 11),
          },
        }
      : {}),
    dosing: chance(0.3)
      ? { by: 'hand' }
      : { by: 'pump', timesPerDay: [1, 4, 12, 24, 96][Math.floor(random.between(0, 4.99))]! },
    ...(chance(0.4) ? { levelNoise: logBetween(0.005, 0.05) } : {}),
    ...(chance(0.4) ? { doseErrorSd: random.between(0, 0.05) } : {}),
    ...(chance(0.2) ? { isHeavyTailed: true } : {}),
  };
}
