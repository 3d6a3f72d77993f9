import { dayMs, type SimulatedTank, type TankCase, type TankEvent } from './simulated-tank.ts';

export type Estimate = { level: number; levelSd: number; demand: number; demandSd: number; suspect: boolean };

/**
 * The best that can be had: a Kalman filter told every true parameter of the case (kit noise, growth, light hours), which
 * tests are outliers, and when a step came. It is not told the level, the demand or the size of a step.
 */
export function bestPossible(tank: TankCase, history: SimulatedTank): Estimate[] {
  const rows: Estimate[] = [];
  let x: [number, number] = [8, tank.demand];
  let p: [number, number, number] = [9, 0, (0.5 * tank.demand + 0.3) ** 2];
  let nowMs = history.startMs;
  const carry = (toMs: number): void => {
    // Hour by hour, since light and the growth's size change within a long gap.
    while (nowMs < toMs) {
      const nextMs = Math.min(toMs, nowMs + 3_600_000);
      const days = (nextMs - nowMs) / dayMs;
      const light = history.lightDays(nowMs, nextMs);
      const growth = (tank.growthSd * history.demandAt(nowMs)) ** 2;
      x = [x[0] - light * x[1], x[1] * Math.exp(tank.growthShare * days)];
      p = [
        p[0] - 2 * light * p[1] + light * light * p[2] + (tank.levelNoise ?? 1e-4) ** 2 * days,
        p[1] - light * p[2] - (growth * days * light) / 2,
        p[2] * Math.exp(2 * tank.growthShare * days) + growth * days,
      ];
      nowMs = nextMs;
    }
  };
  for (const event of history.events) {
    carry(event.timeMs);
    if (event.is === 'dose') {
      x = [x[0] + event.rise, x[1]];
      p = [p[0] + ((tank.doseErrorSd ?? 0) * event.rise) ** 2, p[1], p[2]];
    }
    if (event.is === 'step') p = [p[0], p[1], p[2] + event.stepSd ** 2];
    if (event.is === 'water_change') {
      x = [x[0] + event.share * (event.newLevel - x[0]), x[1]];
      p = [p[0] * (1 - event.share) ** 2, p[1] * (1 - event.share), p[2]];
    }
    if (event.is !== 'test') continue;
    if (!event.isOutlier) {
      const spread = p[0] + tank.kitSd ** 2 + (tank.resolution ?? 0) ** 2 / 12;
      const innovation = event.value - x[0];
      const gain = [p[0] / spread, p[1] / spread] as const;
      x = [x[0] + gain[0] * innovation, x[1] + gain[1] * innovation];
      p = [p[0] * (1 - gain[0]), p[1] * (1 - gain[0]), p[2] - gain[1] * p[1]];
    }
    const [level, demand] = x;
    rows.push({ level, levelSd: Math.sqrt(p[0]), demand, demandSd: Math.sqrt(p[2]), suspect: event.isOutlier });
  }
  return rows;
}

/** What a careful keeper does on paper: a straight line through the tests of 7 days, doses and water changes taken out. */
export function straightLine(events: readonly TankEvent[]): (Estimate | undefined)[] {
  const rows: (Estimate | undefined)[] = [];
  const tests: { timeMs: number; taken: number }[] = [];
  let added = 0;
  let last = 8;
  for (const event of events) {
    if (event.is === 'dose') added += event.rise;
    if (event.is === 'water_change') added += event.share * (event.newLevel - last);
    if (event.is !== 'test') continue;
    last = event.value;
    tests.push({ timeMs: event.timeMs, taken: event.value - added });
    const inWindow = tests.filter((test) => event.timeMs - test.timeMs <= 7 * dayMs);
    const used = inWindow.length < 2 ? tests.slice(-2) : inWindow;
    if (used.length < 2) {
      rows.push(undefined);
      continue;
    }
    const days = used.map((test) => (test.timeMs - event.timeMs) / dayMs);
    const meanDay = days.reduce((sum, day) => sum + day, 0) / used.length;
    const meanTaken = used.reduce((sum, test) => sum + test.taken, 0) / used.length;
    const square = days.reduce((sum, day) => sum + (day - meanDay) ** 2, 0);
    const slope = days.reduce((sum, day, i) => sum + (day - meanDay) * (used[i]!.taken - meanTaken), 0) / square;
    rows.push({ level: meanTaken - slope * meanDay + added, levelSd: 0, demand: -slope, demandSd: 0, suspect: false });
  }
  return rows;
}
