export type Backoff = {
  /** How long to wait before the next try, milliseconds. */
  nextMs(): number;
  /** It works again: the next pause is a short one. */
  reset(): void;
};

/**
 * Pauses between tries, doubled from `minMs` up to `maxMs`, each drawn from the upper half of its range: many hubs that
 * lost the same broker do not come back in the same instant.
 */
export function createBackoff(limits: { minMs: number; maxMs: number }, random: () => number = Math.random): Backoff {
  let rangeMs = limits.minMs;
  return {
    nextMs() {
      const pauseMs = Math.round(rangeMs * (0.5 + random() / 2));
      rangeMs = Math.min(rangeMs * 2, limits.maxMs);
      return pauseMs;
    },
    reset() {
      rangeMs = limits.minMs;
    },
  };
}
