import type { Act, Decider, Told, Truth } from './live-room.ts';
import { dayMs } from './live-room.ts';
import type { RoomKind } from './room-kind.ts';

/**
 * A keeper's thumb rule: off the middle by more than a fifth of the band, correct it up to the most a day, and shift the plan by a
 * third of the distance. common practice, no published source
 */
export function thumbRule(room: RoomKind): Decider {
  const { band } = room;
  let last = 0;
  let plan = 0;
  return {
    hear(told) {
      if (told.is === 'test') last = told.value;
      if (told.is === 'plan') plan = told.risePerDay;
    },
    decide() {
      const off = (band.low + band.high) / 2 - last;
      if (Math.abs(off) <= 0.2 * (band.high - band.low)) return {};
      const single = Math.min(off, band.mostPerDay);
      return { planPerDay: Math.max(0, plan + off / 3), ...(single > 0 ? { single } : {}) };
    },
  };
}

/** Knows level, use and growth as they are, and sets the plan so that the middle is reached in a day. */
export function knowsAll(room: RoomKind): Decider {
  const middle = (room.band.low + room.band.high) / 2;
  return {
    hear() {},
    decide(_timeMs, { level, demand, growthShare }: Truth): Act {
      const days = room.testEveryDays;
      const use = demand * (1 + (growthShare * days) / 2);
      const off = middle - level;
      const step = Math.max(-room.band.mostPerDay, Math.min(room.band.mostPerDay, off));
      return { planPerDay: Math.max(0, (use + step / days) / room.pumpShare) };
    },
  };
}

/**
 * Knows the statistics of the room (kit, growth, noise, what the pump gives) and sees only the tests: a Kalman filter of level and use
 * with the true figures, and at each test the plan that leads the expected level to the middle in two days.
 */
export function seesOnlyTests(room: RoomKind): Decider {
  const middle = (room.band.low + room.band.high) / 2;
  let state: { level: number; use: number; p: [number, number, number]; timeMs: number } | undefined;
  let plan = 0;
  const variance = room.kitSd ** 2 + room.resolution ** 2 / 12;
  const lead = Math.max(2, room.testEveryDays);

  function carry(timeMs: number): void {
    if (state === undefined) return;
    const t = (timeMs - state.timeMs) / dayMs;
    const [ll, lu, uu] = state.p;
    const q = (room.growthSd * state.use) ** 2;
    state.level += (plan * room.pumpShare - state.use * (1 + (room.growthShare * t) / 2)) * t;
    state.p = [
      ll - 2 * t * lu + t * t * uu + room.levelNoise ** 2 * t + (q * t ** 3) / 3,
      lu - t * uu - (q * t * t) / 2,
      uu + q * t,
    ];
    state.use *= Math.exp(room.growthShare * t);
    state.timeMs = timeMs;
  }

  return {
    hear(told: Told) {
      carry(told.timeMs);
      if (told.is === 'plan') plan = told.risePerDay;
      if (told.is === 'test') {
        if (state === undefined) {
          state = {
            level: told.value,
            use: room.demand,
            p: [variance, 0, (0.5 * room.demand) ** 2],
            timeMs: told.timeMs,
          };
          return;
        }
        const [ll, lu, uu] = state.p;
        const spread = ll + variance;
        const off = told.value - state.level;
        if (room.outlierChance > 0 && Math.abs(off) > 3.5 * Math.sqrt(spread)) {
          // A test left out leaves less known, so that a second that says the same is believed.
          state.p = [ll + variance + (off / 3) ** 2, lu, uu + (0.2 * room.demand) ** 2];
          return;
        }
        state.level += (ll / spread) * off;
        state.use += (lu / spread) * off;
        state.p = [ll - (ll * ll) / spread, lu - (ll * lu) / spread, uu - (lu * lu) / spread];
      }
      if (state === undefined) return;
      if (told.is === 'dose') state.level += told.rise;
      if (told.is === 'water_change') state.level += told.share * (told.newLevel - state.level);
      if (told.is === 'arrival') state.p = [state.p[0], state.p[1], state.p[2] + (0.3 * state.use) ** 2];
    },
    decide() {
      if (state === undefined) return {};
      const step = Math.max(-room.band.mostPerDay, Math.min(room.band.mostPerDay, (middle - state.level) / lead));
      const use = state.use * (1 + (room.growthShare * lead) / 2);
      return { planPerDay: Math.max(0, (use + step) / room.pumpShare) };
    },
  };
}
