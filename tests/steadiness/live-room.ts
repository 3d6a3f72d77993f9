import { type Random, seededRandom } from '../rules/trend/seeded-random.ts';
import type { RoomKind } from './room-kind.ts';

export const dayMs = 86_400_000;
export const hourMs = 3_600_000;
export const startMs = Date.UTC(2026, 0, 5);

/** What the keeper does with an answer: the new daily rise of the plan, and a single rise now, or so many hours later. Absent: nothing. */
export type Act = { planPerDay?: number; single?: number; afterHours?: number };

/** What a keeper and whoever advises him learn of the room, as it happens. */
export type Told =
  | { is: 'test'; timeMs: number; value: number; sd?: number }
  | { is: 'dose'; timeMs: number; rise: number }
  | { is: 'plan'; timeMs: number; risePerDay: number }
  | { is: 'water_change'; timeMs: number; share: number; newLevel: number }
  | { is: 'arrival'; timeMs: number };

/** Whoever decides, asked after each test. */
export type Decider = { hear(told: Told): void; decide(timeMs: number, truth: Truth): Act };

/** For one who knows all, and for nobody else. */
export type Truth = { level: number; demand: number; growthShare: number };

export type Run = {
  /** True level at each hour, and whether the room itself changed in the 24 hours before (a step of use, a water change). */
  levels: number[];
  isChanged: boolean[];
  /** True use a day at each hour, and what was given in that hour. */
  demands: number[];
  given: number[];
  tests: number;
  acts: number;
};

/** One keeper and one room, hour by hour. The chances of the room do not depend on what is decided. */
export function liveIn(room: RoomKind, decider: Decider, days: number, seed: number): Run {
  const random = seededRandom(seed);
  const testRandom = seededRandom(seed ^ 0x5bd1e995);
  const lightOn = Math.floor(random.between(0, 24));
  const run: Run = { levels: [], isChanged: [], demands: [], given: [], tests: 0, acts: 0 };
  let { startLevel: level, demand } = room;
  let plan = room.planShare * room.demand;
  let changedHour = Number.NEGATIVE_INFINITY;
  decider.hear({ is: 'plan', timeMs: startMs, risePerDay: plan });
  let testHour = 19;
  const due: (Act & { hour: number })[] = [];
  for (let hour = 0; hour < days * 24; hour += 1) {
    const timeMs = startMs + hour * hourMs;
    for (const step of room.steps)
      if (hour === step.day * 24) {
        demand *= step.factor;
        changedHour = hour;
        if (step.isLogged) decider.hear({ is: 'arrival', timeMs });
      }
    const change = room.waterChange;
    if (change !== undefined && hour > 0 && hour % (change.everyDays * 24) === 10) {
      level += change.share * (change.level - level);
      changedHour = hour;
      decider.hear({ is: 'water_change', timeMs, share: change.share, newLevel: change.level });
    }
    let single = 0;
    if (hour >= testHour) {
      testHour = hour + 24 * room.testEveryDays + Math.round(1.5 * testRandom.gaussian());
      run.tests += 1;
      decider.hear({ is: 'test', timeMs, ...testOf(room, level, testRandom) });
      const act = decider.decide(timeMs, { level, demand, growthShare: room.growthShare });
      if (act.planPerDay !== undefined || act.single !== undefined) {
        run.acts += 1;
        due.push({ ...act, hour: hour + (act.afterHours ?? 0) });
      }
    }
    while (due[0] !== undefined && due[0].hour <= hour) {
      const act = due.shift()!;
      if (act.planPerDay !== undefined) {
        plan = act.planPerDay;
        decider.hear({ is: 'plan', timeMs, risePerDay: plan });
      }
      if (act.single !== undefined) {
        single += act.single;
        decider.hear({ is: 'dose', timeMs, rise: act.single });
      }
    }
    const given = (plan / 24) * room.pumpShare + single;
    const isLight = (hour - lightOn + 24) % 24 < 12;
    level += given - (demand / 12) * (isLight ? room.lightShare : 1 - room.lightShare);
    level += room.levelNoise * Math.sqrt(1 / 24) * random.gaussian();
    demand *= Math.exp(room.growthShare / 24 + room.growthSd * Math.sqrt(1 / 24) * random.gaussian());
    run.levels.push(level);
    run.demands.push(demand);
    run.given.push(given);
    run.isChanged.push(hour - changedHour <= 24);
  }
  return run;
}

function testOf(room: RoomKind, level: number, random: Random): { value: number; sd?: number } {
  const isOff = random.uniform() < room.outlierChance;
  const side = random.uniform() < 0.5 ? -1 : 1;
  const off = side * random.between(5, 14) * room.kitSd;
  const raw = level + room.kitSd * random.gaussian() + (isOff ? off : 0);
  const value = Math.round(raw / room.resolution) * room.resolution;
  return { value: Number(value.toFixed(3)), ...(room.statedSd === undefined ? {} : { sd: room.statedSd }) };
}
