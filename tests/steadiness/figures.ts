import type { Run } from './live-room.ts';
import { countedFromDay, type RoomKind } from './room-kind.ts';

/** What a keeper would feel of ninety days. */
export type Figures = {
  /** Root mean square distance of the true level from the middle of the band, unit. */
  rms: number;
  shareOutside: number;
  actsPerTest: number;
  /** Largest move of the level between the same hours of two days, unit; days in which the room itself changed are left out. */
  largestDayChange: number;
};

export function figuresOf(run: Run, { band }: RoomKind): Figures {
  const middle = (band.low + band.high) / 2;
  const from = countedFromDay * 24;
  const counted = run.levels.slice(from);
  const rms = Math.sqrt(counted.reduce((sum, level) => sum + (level - middle) ** 2, 0) / counted.length);
  const outside = counted.filter((level) => level < band.low || level > band.high).length;
  let largestDayChange = 0;
  for (let hour = from + 24; hour < run.levels.length; hour += 1)
    if (!run.isChanged[hour])
      largestDayChange = Math.max(largestDayChange, Math.abs(run.levels[hour]! - run.levels[hour - 24]!));
  return { rms, shareOutside: outside / counted.length, actsPerTest: run.acts / run.tests, largestDayChange };
}

export function geometricMean(values: readonly number[]): number {
  return Math.exp(values.reduce((sum, value) => sum + Math.log(value), 0) / values.length);
}
