import { readFileSync } from 'node:fs';
import type { Clock } from '../ports/edge.ts';

/** A new name at each start of the machine (Linux, proc(5)). */
function machineBoot(): string | undefined {
  try {
    return readFileSync('/proc/sys/kernel/random/boot_id', 'utf8').trim();
  } catch {
    return undefined;
  }
}

/** The machine's own clocks. `nowMs` may step when somebody sets it; `monotonicMs` never does, and counts from the boot. */
export const systemClock: Clock = {
  nowMs: () => Date.now(),
  monotonicMs: () => Number(process.hrtime.bigint()) / 1e6,
  bootId: machineBoot(),
};
