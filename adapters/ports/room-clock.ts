import type { Clock } from './edge.ts';

/** A move of the room's time that the passing of time does not explain. */
export type ClockChange = {
  /**
   * `set`: an untrusted clock was set, and what was dated meanwhile was off by `byMs`. `stepped`: a trusted one was set again.
   * `refused`: it was set to a time before all that is stored, or before the hub was built, and is not followed.
   */
  kind: 'set' | 'stepped' | 'refused';
  /** The room's time after it, UTC milliseconds. */
  atMs: number;
  /** How far the room's time moved; for `refused`, how far it would have. Negative: back. */
  byMs: number;
};

export type ClockState = {
  isTrusted: boolean;
  /** Why not; or, of a trusted one, why the machine's clock is not followed. In one sentence. */
  why: string | undefined;
  stepsForward: number;
  stepsBack: number;
  lastChange: ClockChange | undefined;
};

/**
 * The time of the room. Until `begin` it is that of the machine; then it is checked against what is known.
 */
export type RoomClock = Clock & {
  /**
   * @param lastStampMs   the newest moment of which the store knows, UTC milliseconds; absent for an empty store
   * @param isAlwaysTrusted  a person vouches for the machine's clock
   */
  begin(known: { lastStampMs: number | undefined; isAlwaysTrusted: boolean }): void;
  state(): ClockState;
  /** That of `state` alone: it is asked for each reading. */
  isTrusted(): boolean;
  /**
   * Called from inside `nowMs`, before the changed time is handed out: the listener moves what it remembers by time and
   * must neither store anything nor take long.
   *
   * @returns what ends it
   */
  onChange(listener: (change: ClockChange) => void): () => void;
};
