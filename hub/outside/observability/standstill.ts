import { monitorEventLoopDelay } from 'node:perf_hooks';

const lookEveryMs = 60_000;

/** How long the hub could do nothing at a stretch: while it computes, or while the machine gives it no time. */
export function watchStandstill(): { longestMs(): number; stop(): void } {
  const delays = monitorEventLoopDelay({ resolution: 20 });
  delays.enable();
  let before = 0;
  const timer = setInterval(() => {
    before = delays.max;
    delays.reset();
  }, lookEveryMs);
  timer.unref();
  return {
    longestMs: () => Math.max(before, delays.max) / 1e6,
    stop() {
      clearInterval(timer);
      delays.disable();
    },
  };
}
