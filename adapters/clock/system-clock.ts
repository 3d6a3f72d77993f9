import type { Clock } from '../ports/edge.ts';

/** The machine's own clocks. `nowMs` may step when somebody sets it; `monotonicMs` never does. */
export const systemClock: Clock = {
  nowMs: () => Date.now(),
  monotonicMs: () => performance.now(),
};
