import { createRate } from '#adapters/broker/rates.ts';

/** What another probe says in a flood, and what a busy small board takes in, messages a second. */
const floodPerSecond = 500;
const takenPerSecond = 100;

type Reading = { value: number; atMs: number; ahead: number };

/**
 * The readings on their way into the hub, in one line: those of the probe that counts stand behind what a flooding one got past
 * the rate of the broker inside.
 */
export function createLineOfReadings(monotonicMs: () => number, isBounded: boolean) {
  const rate = createRate(monotonicMs);
  let waiting: Reading[] = [];
  let ahead = 0;
  let floodsUntilMs = Number.NEGATIVE_INFINITY;

  return {
    flood(ms: number): void {
      floodsUntilMs = monotonicMs() + ms;
    },
    say(value: number, atMs: number): void {
      waiting.push({ value, atMs, ahead });
    },
    /** So much time passes. */
    pass(ms: number): void {
      const taken = Math.min(ahead, (takenPerSecond * ms) / 1000);
      ahead -= taken;
      for (const each of waiting) each.ahead -= taken;
      if (monotonicMs() > floodsUntilMs) return;
      for (let n = 0; n < (floodPerSecond * ms) / 1000; n += 1) if (!isBounded || rate.allows('wild/t')) ahead += 1;
    },
    /** Those whose turn it is. */
    next(): Reading[] {
      const due = waiting.filter((each) => each.ahead <= 0);
      waiting = waiting.filter((each) => each.ahead > 0);
      return due;
    },
    oldestMs: () => waiting[0]?.atMs,
    /** The process is gone, and the broker inside with it. */
    drop(): void {
      waiting = [];
      ahead = 0;
    },
  };
}
