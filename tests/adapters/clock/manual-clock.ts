import type { Clock } from '#adapters/ports/edge.ts';

export type ManualClock = Clock & {
  /** Time passes: both clocks move on. `ms` is 0 or more. */
  advance(ms: number): void;
  /** Somebody sets the wall clock, forward or back; the monotonic one does not notice. */
  step(ms: number): void;
};

let boots = 0;

/** A clock that stands still until it is told, of a boot of its own. `startMs` is UTC milliseconds. */
export function createManualClock(startMs: number): ManualClock {
  let now = startMs;
  let monotonic = 0;
  boots += 1;
  return {
    bootId: `manual ${boots}`,
    nowMs: () => now,
    monotonicMs: () => monotonic,
    advance(ms) {
      if (!(ms >= 0)) throw new RangeError(`time does not run back: advance(${ms})`);
      now += ms;
      monotonic += ms;
    },
    step(ms) {
      now += ms;
    },
  };
}
