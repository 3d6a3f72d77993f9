import { dayMs } from '#rules/clock/durations.ts';

/** A line entered late is late by hours or days. A wrong month or year is off by more. */
const farDays = 7;
/** So many lines in a row that are far ahead are a keeper who paused, not a slip. */
const mostWaiting = 5;

type Dated = { timeMs: number };

export type FarAhead<Line extends Dated> = {
  /**
   * What may be taken in now, in order, and the lines that turned out to be dated in the future: those who follow them are of long before.
   *
   * @param mustAnswer  somebody waits for this one: it is never kept back
   */
  offer(line: Line, mustAnswer: boolean): { taken: Line[]; skipped: Line[] };
  /** The lines that were still kept back when the diary ended. */
  rest(): Line[];
};

/**
 * Keeps back the lines of a diary that are dated far beyond those before them until the next ones tell whether time went on or
 * the date is wrong. Taken in at once, one line of 2036 would make all later ones run back in time.
 */
export function createFarAhead<Line extends Dated>(): FarAhead<Line> {
  let reachedMs = Number.NEGATIVE_INFINITY;
  let waiting: Line[] = [];

  function released(): Line[] {
    const lines = waiting;
    waiting = [];
    for (const { timeMs } of lines) reachedMs = Math.max(reachedMs, timeMs);
    return lines;
  }

  return {
    offer(line, mustAnswer) {
      const isOf = (kept: Line): boolean => kept.timeMs <= line.timeMs + farDays * dayMs;
      const skipped = waiting.filter((kept) => !isOf(kept));
      waiting = waiting.filter(isOf);
      const isFar = line.timeMs > reachedMs + farDays * dayMs;
      if (isFar && !mustAnswer && waiting.length < mostWaiting) {
        waiting.push(line);
        return { taken: [], skipped };
      }
      const taken = [...released(), line];
      // A question tells nothing about the times of the diary.
      if (!mustAnswer) reachedMs = Math.max(reachedMs, line.timeMs);
      return { taken, skipped };
    },
    rest: released,
  };
}
