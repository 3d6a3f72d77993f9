import type { Clock } from '../ports/edge.ts';
import type { ClockChange, ClockState, RoomClock } from '../ports/room-clock.ts';

/** Two clocks that drift, or are slewed, part by less between two looks; a larger move was made by somebody. */
export const stepMarginMs = 2_000;

export type RoomClockOptions = {
  /** When these files were built, UTC milliseconds: no honest clock shows an earlier time. */
  builtMs?: number | undefined;
  /** Whether the operating system says that its clock was set from outside. A hint: no to it proves nothing. */
  isMachineClockSet?: () => boolean;
};

/**
 * The room's time over the machine's two clocks.
 *
 * Untrusted (a board without a battery clock wakes in the past): the last known moment and the time since the start by the
 * monotonic clock. It is never ahead of the truth and never steps, so that alarms and timers run as ever. Trusted: the wall
 * clock. It becomes trusted when the start, as the wall clock now dates it, is not before what is stored, or when the
 * operating system says that it is set. A jump alone proves nothing: at boot a saved, old time is often put in.
 *
 * Is: a step of the wall clock is told to the listeners before anyone sees the new time; a correction of less than
 * `stepMarginMs` never runs the time back, which goes at half its pace until the wall clock has caught up.
 * Is not: able to tell a clock that is wrong and possible from a right one.
 */
export function createRoomClock(base: Clock, options: RoomClockOptions = {}): RoomClock {
  const builtMs = options.builtMs ?? 0;
  const isMachineClockSet = options.isMachineClockSet ?? (() => false);
  const listeners = new Set<(change: ClockChange) => void>();
  const state: ClockState = {
    isTrusted: true,
    why: undefined,
    stepsForward: 0,
    stepsBack: 0,
    lastChange: undefined,
  };
  let hasBegun = false;
  let isAlwaysTrusted = false;
  let floorMs = builtMs;
  let startedMonotonicMs = 0;
  let askedMonotonicMs = 0;
  /** The room's time when it was last asked for, and the monotonic clock then. */
  let roomMs = 0;
  let monotonicMs = 0;
  let refusedByMs: number | undefined;

  function tell(change: ClockChange): void {
    state.lastChange = change;
    for (const listener of listeners) listener(change);
  }

  /** Whether the wall clock, as it stands now, can be right. */
  function isPossible(wallMs: number, nowMonotonicMs: number): boolean {
    if (isAlwaysTrusted) return true;
    const startByIt = wallMs - (nowMonotonicMs - startedMonotonicMs);
    if (startByIt >= floorMs) return true;
    if (wallMs < builtMs) return false;
    // The file system is asked, so not at each reading.
    if (nowMonotonicMs - askedMonotonicMs < 1000 && nowMonotonicMs !== startedMonotonicMs) return false;
    askedMonotonicMs = nowMonotonicMs;
    return isMachineClockSet();
  }

  function untrustedMs(wallMs: number, nowMonotonicMs: number): number {
    const provisionalMs = Math.max(roomMs, Math.floor(floorMs + nowMonotonicMs - startedMonotonicMs));
    if (!isPossible(wallMs, nowMonotonicMs)) return provisionalMs;
    state.isTrusted = true;
    state.why = undefined;
    roomMs = wallMs;
    monotonicMs = nowMonotonicMs;
    tell({ kind: 'set', atMs: wallMs, byMs: wallMs - provisionalMs });
    return roomMs;
  }

  function trustedMs(wallMs: number, nowMonotonicMs: number): number {
    const elapsedMs = nowMonotonicMs - monotonicMs;
    const expectedMs = roomMs + elapsedMs;
    const byMs = wallMs - expectedMs;
    if (Math.abs(byMs) <= stepMarginMs) {
      refusedByMs = undefined;
      state.why = undefined;
      return Math.max(wallMs, Math.floor(roomMs + elapsedMs / 2));
    }
    if (wallMs < builtMs && !isAlwaysTrusted) {
      if (refusedByMs === undefined || Math.abs(byMs - refusedByMs) > stepMarginMs) {
        refusedByMs = byMs;
        state.why = `the machine's clock shows ${new Date(wallMs).toISOString()}, before the hub was built; the hub counts on by itself`;
        tell({ kind: 'refused', atMs: Math.floor(expectedMs), byMs: Math.round(byMs) });
      }
      return Math.floor(expectedMs);
    }
    refusedByMs = undefined;
    state.why = undefined;
    if (byMs > 0) state.stepsForward += 1;
    else state.stepsBack += 1;
    roomMs = wallMs;
    monotonicMs = nowMonotonicMs;
    tell({ kind: 'stepped', atMs: wallMs, byMs: Math.round(byMs) });
    return roomMs;
  }

  return {
    bootId: base.bootId,
    monotonicMs: () => base.monotonicMs(),
    nowMs() {
      const wallMs = base.nowMs();
      if (!hasBegun) return wallMs;
      const nowMonotonicMs = base.monotonicMs();
      const found = state.isTrusted ? trustedMs(wallMs, nowMonotonicMs) : untrustedMs(wallMs, nowMonotonicMs);
      roomMs = found;
      monotonicMs = nowMonotonicMs;
      return found;
    },
    begin(known) {
      hasBegun = true;
      isAlwaysTrusted = known.isAlwaysTrusted;
      floorMs = Math.max(builtMs, known.lastStampMs ?? 0);
      const wallMs = base.nowMs();
      startedMonotonicMs = base.monotonicMs();
      monotonicMs = startedMonotonicMs;
      state.isTrusted = isPossible(wallMs, startedMonotonicMs);
      roomMs = state.isTrusted ? wallMs : floorMs;
      if (state.isTrusted) return;
      const than = floorMs === builtMs ? 'before the hub was built' : `before the last stored moment, ${iso(floorMs)}`;
      state.why = `the machine's clock showed ${iso(wallMs)} at the start, ${than}`;
    },
    state: () => ({ ...state }),
    isTrusted: () => state.isTrusted,
    onChange(listener) {
      listeners.add(listener);
      return () => void listeners.delete(listener);
    },
  };
}

function iso(timeMs: number): string {
  return new Date(timeMs).toISOString();
}
