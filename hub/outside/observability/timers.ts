export type TimerState = {
  name: string;
  everyMs: number;
  runs: number;
  /** Monotonic time since it last ran; null before the first time. */
  lastAgoMs: number | null;
  /** How long that took. */
  lastTookMs: number | null;
};

export type Timers = {
  /** Does the work again and again; it must not throw. */
  every(name: string, everyMs: number, work: () => void): void;
  list(): TimerState[];
  stop(): void;
};

/** What the hub does by the clock, each under a name: a timer that no longer runs can then be seen. */
export function createTimers(monotonicMs: () => number): Timers {
  const timers = new Map<string, { handle: NodeJS.Timeout; state: TimerState; lastMs: number | undefined }>();
  return {
    every(name, everyMs, work) {
      const state: TimerState = { name, everyMs, runs: 0, lastAgoMs: null, lastTookMs: null };
      const handle = setInterval(() => {
        const startedMs = monotonicMs();
        work();
        const timer = timers.get(name);
        if (timer === undefined) return;
        timer.lastMs = monotonicMs();
        timer.state = { ...timer.state, runs: timer.state.runs + 1, lastTookMs: timer.lastMs - startedMs };
      }, everyMs);
      timers.set(name, { handle, state, lastMs: undefined });
    },
    list: () =>
      [...timers.values()].map(({ state, lastMs }) => ({
        ...state,
        lastAgoMs: lastMs === undefined ? null : monotonicMs() - lastMs,
      })),
    stop() {
      for (const { handle } of timers.values()) clearInterval(handle);
      timers.clear();
    },
  };
}
