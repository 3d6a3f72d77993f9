/**
 * The clock was put right: how what is remembered moves with it, so that what has passed since each moment stays what it was.
 *
 * Each file that remembers moments says itself which they are and hands each of them through one of these two. What people dated
 * (tests, doses, calibrations) and the habits of whole days belong to the time of day and move by neither.
 */
export type ClockMove = {
  /** A moment that the hub noted by its own clock and counts from; 0 and null mean "never" and stay. UTC milliseconds. */
  noted<Moment extends number | null | undefined>(momentMs: Moment): Moment;
  /** An end that a person set: until when an alarm is silent, or somebody works at the tank. UTC milliseconds. */
  set<Moment extends number | null | undefined>(momentMs: Moment): Moment;
};

/** Below this, UTC milliseconds of 1973, it is no moment: the hub was not built then. */
const leastMomentMs = 100_000_000_000;

/** What follows from a step of a clock that was trusted: everything that counts from a moment moves. */
export function moveOfStep(byMs: number): ClockMove {
  const move = moveFrom(leastMomentMs, byMs);
  return { noted: move, set: move };
}

/**
 * What follows from setting a clock that was not: only what this run has dated moves, and no end that a person has set; it may
 * have been set in another life, and to be judged too early is the safe side.
 *
 * @param startedMs  when this run began, by the clock before it was set
 */
export function moveOfSetting(byMs: number, startedMs: number): ClockMove {
  return { noted: moveFrom(Math.max(leastMomentMs, startedMs), byMs), set: (momentMs) => momentMs };
}

function moveFrom(fromMs: number, byMs: number) {
  return <Moment extends number | null | undefined>(momentMs: Moment): Moment =>
    typeof momentMs === 'number' && momentMs >= fromMs ? ((momentMs + byMs) as Moment) : momentMs;
}
