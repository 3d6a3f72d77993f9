import type { packing } from './packing.ts';
import type { RecentReadings } from './recent-readings.ts';
import type { StoreSettings } from './store-options.ts';

/** So many times as many readings as bring a packing forward end its steps: the rest goes in one. */
const mostWhileStepping = 1.5;

/** When the log is packed: once spans of time are over, or when it holds too many; in one go or in steps. */
export function packSchedule(
  pack: ReturnType<typeof packing>,
  recent: RecentReadings,
  { clock, packMs, packAtReadings, packPauseMs, packStepMs }: StoreSettings,
) {
  // At the first flush what an earlier run left: a hub that restarts often must not gather a log without end.
  let packedAtMs = Number.NEGATIVE_INFINITY;
  const isFull = () => recent.size > packAtReadings;

  const schedule = {
    isDue(): boolean {
      if (isFull()) return true;
      if (pack.isUnderWay()) return false;
      return clock.monotonicMs() - packedAtMs >= packMs && recent.oldestMs < pack.completeMs();
    },

    packIfDue(): void {
      if (!schedule.isDue()) return;
      const beforeMs = isFull() ? Number.MAX_SAFE_INTEGER : pack.completeMs();
      // A flood is quicker than the steps, and memory has its bound.
      if (packPauseMs > 0 && recent.size < mostWhileStepping * packAtReadings) pack.begin(beforeMs);
      else pack.packBefore(beforeMs);
      packedAtMs = clock.monotonicMs();
    },

    /** One step of the packing that a flush began; false when there is none, or it was the last. */
    step(): boolean {
      const endMs = clock.monotonicMs() + packStepMs;
      return pack.step(() => clock.monotonicMs() >= endMs);
    },
  };
  return schedule;
}
