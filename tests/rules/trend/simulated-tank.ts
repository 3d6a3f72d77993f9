import { type Random, seededRandom } from './seeded-random.ts';

/** An invented system: how its alkalinity is used, dosed, changed and tested. Levels in dKH. */
export type TankCase = {
  name: string;
  days: number;
  demand: number;
  /** Random growth of demand, share for each square root of a day, and steady growth, share a day. */
  growthSd: number;
  growthShare: number;
  /** Unlogged unless said: demand times `factor` from that day on. */
  steps: readonly { day: number; factor: number; isLogged?: boolean }[];
  /** Shortest and longest time between tests, days. */
  testEvery: readonly [number, number];
  /** Days without any test. */
  gap?: readonly [number, number];
  kitSd: number;
  /** What the keeper believes of the kit; absent: says nothing. */
  statedSd?: number;
  resolution?: number;
  outlierChance: number;
  waterChange?: { everyDays: number; share: number; level: number };
  /** `pump`: so many equal doses a day; `hand`: one or two days apart, sizes as they come; `none`: water changes only. */
  dosing: { by: 'pump'; timesPerDay: number } | { by: 'hand' } | { by: 'none' };
  /** Share of the day's demand used in the twelve hours of light. */
  lightShare: number;
  /** What no diary holds: noise of the level for each square root of a day, and the error of each dose as a share of it. */
  levelNoise?: number;
  doseErrorSd?: number;
  /** The true volume as a multiple of the stated one: what is logged as a rise of 1 raises the water by 1 divided by this. 1 when absent. */
  volumeRatio?: number;
  /** The keeper knows the use by his tests alone: after each he shifts the plan, and corrects at once what is far too low. */
  isByTests?: boolean;
  /** Kit errors with the heavy tails of Student's t with 4 degrees of freedom, scaled to the same standard deviation. */
  isHeavyTailed?: boolean;
};

export type TankEvent =
  | { is: 'test'; timeMs: number; value: number; level: number; demand: number; isOutlier: boolean; sd?: number }
  | { is: 'dose'; timeMs: number; rise: number }
  | { is: 'water_change'; timeMs: number; share: number; newLevel: number }
  | { is: 'step'; timeMs: number; isLogged: boolean; stepSd: number };

export type SimulatedTank = {
  events: TankEvent[];
  /** Whole days of demand (24 h mean 1) that the light cycle lets pass between two times. */
  lightDays(fromMs: number, toMs: number): number;
  /** True demand at a time, for one who knows everything. */
  demandAt(timeMs: number): number;
  /** True level before what is dosed or changed at that time. */
  levelAt(timeMs: number): number;
  startMs: number;
};

export const dayMs = 86_400_000;
const stepsPerDay = 96;

/** One history of a case; the same seed gives the same history. */
export function simulateTank(tank: TankCase, seed: number): SimulatedTank {
  const random = seededRandom(seed);
  const startMs = Date.UTC(2026, 0, 5) + Math.floor(random.between(0, stepsPerDay)) * (dayMs / stepsPerDay);
  const lightOnMs = random.between(0, dayMs);
  const demands: number[] = [];
  const levels: number[] = [];
  const events: TankEvent[] = [];
  let demand = tank.demand;
  let level = random.between(7.5, 9);
  let lastSeen = level;
  let nextTest = random.between(0, tank.testEvery[0]);
  let nextHandDose = 1;
  let plan = tank.demand * (tank.isByTests === true ? random.between(0.7, 1.3) : 1);
  const stepMs = dayMs / stepsPerDay;
  for (let step = 0; step < tank.days * stepsPerDay; step++) {
    const timeMs = startMs + step * stepMs;
    const day = step / stepsPerDay;
    demands.push(demand);
    levels.push(level);
    if (day >= nextTest) {
      const isGap = tank.gap !== undefined && day >= tank.gap[0] && day < tank.gap[1];
      if (!isGap) {
        const event = testOf(tank, random, timeMs, level, demand);
        events.push(event);
        if (!event.isOutlier) lastSeen = event.value;
      }
      nextTest = day + random.between(tank.testEvery[0], tank.testEvery[1]);
    }
    for (const change of tank.steps)
      if (step === Math.round(change.day * stepsPerDay)) {
        demand *= change.factor;
        const stepSd = Math.abs(change.factor - 1) * tank.demand;
        events.push({ is: 'step', timeMs, isLogged: change.isLogged ?? false, stepSd });
      }
    const wanted = Math.max(0, tank.isByTests === true ? plan : demand + 0.1 * (8.3 - lastSeen));
    let rise = 0;
    const tested = events.at(-1);
    if (tank.isByTests === true && tested?.is === 'test' && tested.timeMs === timeMs && tank.dosing.by !== 'none') {
      plan = Math.max(0, plan + 0.05 * (8.3 - tested.value));
      if (tested.value < 7.9) rise = 8.3 - tested.value;
    }
    if (tank.dosing.by === 'pump' && step % (stepsPerDay / tank.dosing.timesPerDay) === 0)
      rise += wanted / tank.dosing.timesPerDay;
    if (tank.dosing.by === 'hand' && day >= nextHandDose) {
      const pause = random.between(0.5, 2.5);
      rise += Math.max(0, wanted * pause * random.between(0.6, 1.3));
      nextHandDose = day + pause;
    }
    if (rise > 0) {
      events.push({ is: 'dose', timeMs, rise });
      level += (rise * (1 + (tank.doseErrorSd ?? 0) * random.gaussian())) / (tank.volumeRatio ?? 1);
    }
    const change = tank.waterChange;
    if (change !== undefined && step > 0 && step % Math.round(change.everyDays * stepsPerDay) === 0) {
      events.push({ is: 'water_change', timeMs, share: change.share, newLevel: change.level });
      level += (change.share / (tank.volumeRatio ?? 1)) * (change.level - level);
    }
    level -= demand * lightDaysOf(timeMs, timeMs + stepMs, lightOnMs, tank.lightShare);
    const root = Math.sqrt(1 / stepsPerDay);
    level += (tank.levelNoise ?? 0) * root * random.gaussian();
    demand *= Math.exp(tank.growthShare / stepsPerDay + tank.growthSd * root * random.gaussian());
  }
  return {
    events,
    startMs,
    lightDays: (fromMs, toMs) => lightDaysOf(fromMs, toMs, lightOnMs, tank.lightShare),
    demandAt: (timeMs) => demands[Math.min(demands.length - 1, Math.floor((timeMs - startMs) / stepMs))]!,
    levelAt: (timeMs) => levels[Math.min(levels.length - 1, Math.round((timeMs - startMs) / stepMs))]!,
  };
}

function testOf(tank: TankCase, random: Random, timeMs: number, level: number, demand: number) {
  const isOutlier = random.uniform() < tank.outlierChance;
  const side = random.uniform() < 0.5 ? -1 : 1;
  const wrong = isOutlier ? side * random.between(1, 3) : 0;
  const raw = level + wrong + tank.kitSd * kitError(tank, random);
  const value = tank.resolution === undefined ? raw : Math.round(raw / tank.resolution) * tank.resolution;
  const sd = tank.statedSd === undefined ? {} : { sd: tank.statedSd };
  return { is: 'test' as const, timeMs, value, level, demand, isOutlier, ...sd };
}

function kitError(tank: TankCase, random: Random): number {
  if (tank.isHeavyTailed !== true) return random.gaussian();
  const chi = random.gaussian() ** 2 + random.gaussian() ** 2 + random.gaussian() ** 2 + random.gaussian() ** 2;
  // Student's t with 4 degrees of freedom has variance 2.
  return random.gaussian() / Math.sqrt(chi / 4) / Math.SQRT2;
}

/** Light on for twelve hours: `lightShare` of a day's demand falls into them. */
function lightDaysOf(fromMs: number, toMs: number, lightOnMs: number, lightShare: number): number {
  const used = (ms: number): number => {
    const days = (ms - lightOnMs) / dayMs;
    const whole = Math.floor(days);
    const part = days - whole;
    const inPart = part < 0.5 ? part * 2 * lightShare : lightShare + (part - 0.5) * 2 * (1 - lightShare);
    return whole + inPart;
  };
  return used(toMs) - used(fromMs);
}
