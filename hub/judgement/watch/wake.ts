import { hourMs } from '#rules/clock/durations.ts';

/** Timers hold at most 24.8 days; and a wall clock may be set meanwhile, so a far time is looked at again. */
const longestMs = hourMs;

export type Wake = {
  /** Replaces what was asked before; infinity asks for nothing. UTC milliseconds. */
  at(timeMs: number): void;
  stop(): void;
};

/** One timer, armed for the next time at which something is due: nobody has to look every second, and nothing is late. */
export function createWake(now: () => number, work: () => void): Wake {
  let timer: NodeJS.Timeout | undefined;
  let isStopped = false;
  return {
    at(timeMs) {
      clearTimeout(timer);
      if (isStopped || timeMs === Number.POSITIVE_INFINITY) return;
      timer = setTimeout(work, Math.min(Math.max(0, timeMs - now()), longestMs));
      timer.unref();
    },
    stop() {
      isStopped = true;
      clearTimeout(timer);
    },
  };
}
