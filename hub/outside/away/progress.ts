/** The rules look at the time every few seconds; without them for so long something hangs. */
const rulesLateMs = 30_000;
/** Readings that fail one and all for so long: the pipeline itself is broken, and not one probe. */
const failingMostMs = 60_000;

export type Progress = {
  /** Readings enter the pipeline. */
  entered(): void;
  /** They have left it: stored, judged and shown. */
  left(): void;
  /** The rules have taken in that time passed. */
  judged(): void;
  isMoving(): boolean;
};

/**
 * Whether the hub does its work: the rules come to their end, and readings that enter the pipeline leave it. A room without
 * any reading is no fault of the hub, and a start again would not mend it.
 *
 * @param monotonicMs  a clock that nobody sets
 */
export function createProgress(monotonicMs: () => number): Progress {
  let judgedMs = monotonicMs();
  let failingSinceMs: number | undefined;
  return {
    entered() {
      failingSinceMs ??= monotonicMs();
    },
    left() {
      failingSinceMs = undefined;
    },
    judged() {
      judgedMs = monotonicMs();
    },
    isMoving() {
      const nowMs = monotonicMs();
      if (nowMs - judgedMs > rulesLateMs) return false;
      return failingSinceMs === undefined || nowMs - failingSinceMs <= failingMostMs;
    },
  };
}
