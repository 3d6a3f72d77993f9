import { type Random, seededRandom } from '../rules/trend/seeded-random.ts';

/** One invented room: what its water does, how it is dosed, and how its keeper tests. Levels in the analyte's unit. */
export type RoomKind = {
  name: string;
  analyte: 'alkalinity' | 'calcium' | 'magnesium';
  volumeL: number;
  band: { low: number; high: number; mostPerDay: number };
  startLevel: number;
  /** Use at the start, a day; its random growth as a share for each square root of a day, and its steady growth as a share a day. */
  demand: number;
  growthSd: number;
  growthShare: number;
  /** Use times `factor` from that day on; a logged one is told to the hub as an arrival. */
  steps: readonly { day: number; factor: number; isLogged: boolean }[];
  /** What the plan gives at the start, as a share of the use. */
  planShare: number;
  /** What the pump gives of what it is set to, and noise of each day's amount as a share. */
  pumpShare: number;
  kitSd: number;
  statedSd?: number;
  resolution: number;
  outlierChance: number;
  testEveryDays: number;
  waterChange?: { everyDays: number; share: number; level: number };
  /** Share of the day's use that falls into the twelve hours of light. */
  lightShare: number;
  /** Noise of the level that no diary holds, for each square root of a day. */
  levelNoise: number;
};

export const daysRun = 90;
/** The first week is the keeper's and the hub's to learn. */
export const countedFromDay = 8;

const alkalinityRoom: RoomKind = {
  name: 'steady',
  analyte: 'alkalinity',
  volumeL: 400,
  band: { low: 7.5, high: 9, mostPerDay: 0.5 },
  startLevel: 8.2,
  demand: 1,
  growthSd: 0.006,
  growthShare: 0,
  steps: [],
  planShare: 1,
  pumpShare: 1,
  kitSd: 0.18,
  resolution: 0.1,
  outlierChance: 0,
  testEveryDays: 1,
  lightShare: 0.65,
  levelNoise: 0.01,
};

/** Kinds of rooms before chance has drawn their figures. */
const kinds: readonly (Partial<RoomKind> & { name: string })[] = [
  { name: 'steady' },
  { name: 'plan gives half', planShare: 0.5 },
  { name: 'no plan yet', planShare: 0, demand: 0.6 },
  { name: 'plan gives a quarter too much', planShare: 1.25 },
  { name: 'grows 1 % a day', demand: 0.7, growthShare: 0.01 },
  { name: 'grows 2 % a day', demand: 0.5, growthShare: 0.018 },
  { name: 'arrival, logged', steps: [{ day: 35, factor: 1.3, isLogged: true }] },
  { name: 'three arrivals', demand: 0.7, steps: [20, 42, 64].map((day) => ({ day, factor: 1.2, isLogged: true })) },
  { name: 'use halves', steps: [{ day: 45, factor: 0.5, isLogged: false }] },
  { name: 'wandering use', demand: 1.4, growthSd: 0.03 },
  { name: 'coarse kit', kitSd: 0.3, resolution: 0.5 },
  { name: 'photometer', kitSd: 0.1, resolution: 0.01 },
  { name: 'pump gives 85 %', pumpShare: 0.85 },
  { name: 'one test in twelve is off', outlierChance: 0.08 },
  { name: 'water changes', waterChange: { everyDays: 7, share: 0.1, level: 7.4 } },
  { name: 'small and hungry', volumeL: 60, demand: 3 },
  { name: 'starts low', startLevel: 7.1, planShare: 0.8 },
  { name: 'starts high', startLevel: 9.3 },
  { name: 'tests every 3 days', testEveryDays: 3 },
  { name: 'tests every week', testEveryDays: 7 },
];

/** The same room for another analyte, in its units: calcium and magnesium move and are tested on their own scales. */
const scales = {
  alkalinity: { perDkh: 1, middle: 8.25 },
  calcium: { perDkh: 25, middle: 430 },
  magnesium: { perDkh: 60, middle: 1320 },
} as const;

/**
 * A room of each kind with its figures drawn by chance around those of its kind, so that no constant can be fitted to one room.
 *
 * @param seed  the same seed gives the same rooms
 */
export function drawRooms(seed: number, analyte: RoomKind['analyte'] = 'alkalinity'): RoomKind[] {
  const random = seededRandom(seed);
  return kinds.map((kind) => inUnits({ ...drawn({ ...alkalinityRoom, ...kind }, random), analyte }));
}

function drawn(room: RoomKind, random: Random): RoomKind {
  const by = (spread: number): number => Math.exp(spread * random.gaussian());
  return {
    ...room,
    demand: room.demand * by(0.25),
    volumeL: Math.round(room.volumeL * by(0.3)),
    growthSd: room.growthSd * by(0.3),
    kitSd: room.kitSd * by(0.1),
    startLevel: room.startLevel + (random.uniform() - 0.5) * 0.4,
    lightShare: Math.min(0.8, Math.max(0.5, room.lightShare + random.between(-0.1, 0.1))),
    planShare: room.planShare * by(0.08),
    pumpShare: room.pumpShare * by(0.01),
    steps: room.steps.map((step) => ({ ...step, day: Math.round(step.day + random.between(-4, 4)) })),
  };
}

function inUnits(room: RoomKind): RoomKind {
  const { perDkh, middle } = scales[room.analyte];
  if (perDkh === 1) return room;
  const level = (dKH: number): number => middle + (dKH - scales.alkalinity.middle) * perDkh;
  return {
    ...room,
    band: { low: level(room.band.low), high: level(room.band.high), mostPerDay: room.band.mostPerDay * perDkh },
    startLevel: level(room.startLevel),
    demand: room.demand * perDkh * (room.analyte === 'magnesium' ? 0.1 : 0.3),
    kitSd: room.kitSd * perDkh,
    resolution: room.resolution * perDkh,
    levelNoise: room.levelNoise * perDkh,
    ...(room.waterChange ? { waterChange: { ...room.waterChange, level: level(room.waterChange.level) } } : {}),
  };
}
