import type Database from 'better-sqlite3';
import type { KeptReading, Resolution, Summary } from '../ports/store.ts';
import { type SummaryBlocks, spanStart, summaryBlocks } from './block-table.ts';
import type { StoreFault } from './store-options.ts';
import { emptyTally, intervalMs, mergeTally, startOf, summaryFrom, type Tally, tallyReading } from './tally.ts';

/** The days are made from the hours. */
type Counted = Exclude<Resolution, 'day'>;

export const resolutions = ['minute', 'hour'] as const satisfies Counted[];

type StartedTally = readonly [number, Tally];

/** The tallies of readings, by start of their interval, ascending. */
export function talliesOf(readings: Iterable<KeptReading>, resolution: Resolution): StartedTally[] {
  const found = new Map<number, Tally>();
  for (const reading of readings) {
    const startMs = startOf(reading.timeMs, resolution);
    const tally = found.get(startMs) ?? emptyTally();
    found.set(startMs, tally);
    tallyReading(tally, reading);
  }
  return [...found].sort(([a], [b]) => a - b);
}

/** Two ascending runs as one; of an interval that is in both, one tally that is the merger. Neither run is changed. */
function merged(one: readonly StartedTally[], other: readonly StartedTally[]): readonly StartedTally[] {
  if (other.length === 0) return one;
  // Mostly the other run is a few hours at the end of years: what is before it is taken over as it is.
  const splitMs = other[0]![0];
  let split = one.length;
  while (split > 0 && one[split - 1]![0] >= splitMs) split -= 1;
  const byStart = new Map(other);
  for (const [startMs, tally] of one.slice(split)) {
    const more = byStart.get(startMs);
    const sum = { ...tally };
    if (more !== undefined) mergeTally(sum, more);
    byStart.set(startMs, sum);
  }
  return [...one.slice(0, split), ...[...byStart].sort(([a], [b]) => a - b)];
}

/** The tallies of hours, ascending, as those of days. */
function daysOf(hours: readonly StartedTally[]): StartedTally[] {
  const days: StartedTally[] = [];
  for (const [hourMs, tally] of hours) {
    const startMs = startOf(hourMs, 'day');
    const last = days.at(-1);
    if (last !== undefined && last[0] === startMs) mergeTally(last[1], tally);
    else days.push([startMs, { ...tally }]);
  }
  return days;
}

/**
 * Minute, hour and day summaries, in blocks: a curve of ten years would else read 88 000 hours. A block of days is made again
 * from the block of hours of the same span whenever that changes. They are of the packed readings alone and are written in the transaction that packs
 * them: those of readings that wait are computed when asked for, so no stop leaves them behind.
 */
export function summaryTable(db: Database.Database, onFault: (fault: StoreFault) => void) {
  const blocks: Record<Resolution, SummaryBlocks> = {
    minute: summaryBlocks(db, 'minute', onFault),
    hour: summaryBlocks(db, 'hour', onFault),
    day: summaryBlocks(db, 'day', onFault),
  };

  /** Inside a transaction: puts into each block of the span what `change` makes of it. */
  function changeBlocks(
    seriesId: number,
    resolution: Counted,
    starts: Iterable<number>,
    change: (before: readonly StartedTally[], blockStartMs: number) => readonly StartedTally[],
  ): void {
    for (const startMs of new Set([...starts].map((start) => spanStart(start, resolution)))) {
      const after = change(blocks[resolution].at(seriesId, startMs) ?? [], startMs);
      blocks[resolution].put(seriesId, startMs, after.length, after);
      if (resolution !== 'hour') continue;
      const days = daysOf(after);
      blocks.day.put(seriesId, startMs, days.length, days);
    }
  }

  function* blocksOf(seriesId: number, resolution: Resolution, fromMs: number, toMs: number) {
    const hasAllDays = () => blocks.day.count(seriesId, fromMs, toMs) === blocks.hour.count(seriesId, fromMs, toMs);
    if (resolution !== 'day' || hasAllDays()) yield* blocks[resolution].range(seriesId, fromMs, toMs);
    // Some were written before there were days, or were set aside.
    else for (const hours of blocks.hour.range(seriesId, fromMs, toMs)) yield daysOf(hours);
  }

  const table = {
    /** Inside a transaction: adds to what is there. */
    mergeTallies(seriesId: number, resolution: Counted, tallies: readonly StartedTally[]): void {
      const starts = tallies.map(([startMs]) => startMs);
      changeBlocks(seriesId, resolution, starts, (before, blockStartMs) =>
        merged(
          before,
          tallies.filter(([startMs]) => spanStart(startMs, resolution) === blockStartMs),
        ),
      );
    },

    /** Inside the transaction that packs these readings. */
    addReadings(seriesId: number, readings: readonly KeptReading[]): void {
      for (const resolution of resolutions) {
        table.mergeTallies(seriesId, resolution, talliesOf(readings, resolution));
      }
    },

    /** Inside the transaction that changes readings: the summaries of one series and hour, from all its readings. */
    replaceHour(seriesId: number, hourMs: number, readingsOfHour: readonly KeptReading[]): void {
      const endMs = hourMs + intervalMs.hour;
      for (const resolution of resolutions) {
        changeBlocks(seriesId, resolution, [hourMs], (before) =>
          merged(
            before.filter(([startMs]) => startMs < hourMs || startMs >= endMs),
            talliesOf(readingsOfHour, resolution),
          ),
        );
      }
    },

    /**
     * [fromMs, toMs) by start of the interval.
     *
     * @param waiting  readings that are not packed
     */
    read(
      seriesId: number | undefined,
      resolution: Resolution,
      fromMs: number,
      toMs: number,
      waiting: Iterable<KeptReading>,
    ): Summary[] {
      const isWithin = ([startMs]: StartedTally) => startMs >= fromMs && startMs < toMs;
      const packed: StartedTally[] = [];
      if (seriesId !== undefined) {
        for (const block of blocksOf(seriesId, resolution, fromMs, toMs)) {
          for (const one of block) if (isWithin(one)) packed.push(one);
        }
      }
      const summaries: Summary[] = [];
      for (const [startMs, tally] of merged(packed, talliesOf(waiting, resolution).filter(isWithin))) {
        const summary = summaryFrom(startMs, tally);
        if (summary !== undefined) summaries.push(summary);
      }
      return summaries;
    },

    /** The start of the newest hour in which a series has a packed reading. */
    lastHourMs(seriesId: number): number | undefined {
      for (const block of blocks.hour.newestFirst(seriesId)) {
        const startMs = block.at(-1)?.[0];
        if (startMs !== undefined) return startMs;
      }
      return undefined;
    },

    /** After a transaction that was rolled back. */
    forget(): void {
      for (const kept of Object.values(blocks)) kept.forget();
    },
  };
  return table;
}

export type SummaryTable = ReturnType<typeof summaryTable>;
