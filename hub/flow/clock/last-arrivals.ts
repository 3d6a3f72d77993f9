import type { RoomClock } from '#adapters/ports/room-clock.ts';
import type { KeptReading, Store } from '#adapters/ports/store.ts';
import type { Reading, Series } from '#rules/quality/reading.ts';

/** The store has as many series at most. */
const mostSeries = 10_000;
/** Two clocks that both show the past may agree on a millisecond; on so many in a row they do not. */
const mostTries = 1_000;

function keyOf({ system, metric, probe }: Series): string {
  return `${system}\0${metric}\0${probe}`;
}

function keptFrom({ timeMs, quality }: Reading): KeptReading | undefined {
  if (quality.flag === 'missing') return undefined;
  return { timeMs, flag: quality.flag, value: quality.flag === 'fail' ? quality.raw : quality.value };
}

/**
 * What came last, and at which moment the next may stand, where the store cannot say: its readings may be ahead of a clock that
 * stepped back, or wait for one.
 */
export function createLastArrivals(store: Store, clock: RoomClock) {
  /** The store has readings up to here that are, by the clock as it is now, still to come. */
  let overlapMs = newestOf(store);
  const lastByArrival = new Map<string, { series: Series; kept: KeptReading }>();
  /** The moment given to the last reading of each series. */
  const lastGivenMs = new Map<string, number>();

  function remember(readings: readonly Reading[]): void {
    for (const reading of readings) {
      const key = keyOf(reading.series);
      const kept = keptFrom(reading);
      if (kept === undefined || (lastByArrival.size >= mostSeries && !lastByArrival.has(key))) continue;
      const known = lastByArrival.get(key);
      if (known === undefined || known.kept.timeMs <= kept.timeMs)
        lastByArrival.set(key, { series: reading.series, kept });
    }
  }

  function freeInStore(series: Series, timeMs: number): number {
    if (timeMs > overlapMs || !clock.isTrusted()) return timeMs;
    for (let at = timeMs; at < timeMs + mostTries; at += 1) {
      if (store.readings(series, at, at + 1, 1).length === 0) return at;
    }
    return timeMs;
  }

  return {
    remember,

    /** Whether it is remembered depends on the clock: one that is set, and past all that the store has, needs no memory. */
    arrived(readings: readonly Reading[]): void {
      if (!clock.isTrusted() || (overlapMs > Number.NEGATIVE_INFINITY && clock.nowMs() <= overlapMs)) {
        remember(readings);
        return;
      }
      // Passed for good: a step back sets it again.
      overlapMs = Number.NEGATIVE_INFINITY;
      if (lastByArrival.size > 0) lastByArrival.clear();
    },

    /** The clock was stepped. */
    move(atMs: number, byMs: number): void {
      lastGivenMs.clear();
      if (byMs < 0) overlapMs = Math.max(overlapMs, atMs - byMs);
      for (const [key, { series, kept }] of lastByArrival)
        lastByArrival.set(key, { series, kept: { ...kept, timeMs: kept.timeMs + byMs } });
    },

    series(): Series[] {
      const known = new Map(store.series().map((series) => [keyOf(series), series]));
      for (const [key, { series }] of lastByArrival) if (!known.has(key)) known.set(key, series);
      return [...known.values()];
    },

    latest: (series: Series): KeptReading | undefined => lastByArrival.get(keyOf(series))?.kept ?? store.latest(series),

    freeMs(series: Series, timeMs: number): number {
      const key = keyOf(series);
      const last = lastGivenMs.get(key);
      // A busy hub reads several lines in one go, all at the same moment: the store keeps one reading for each.
      const isTaken = last !== undefined && last >= timeMs && last < timeMs + mostTries;
      const given = freeInStore(series, isTaken ? last + 1 : timeMs);
      if (last !== undefined || lastGivenMs.size < mostSeries) lastGivenMs.set(key, given);
      return given;
    },
  };
}

function newestOf(store: Store): number {
  return store.series().reduce((newest, series) => Math.max(newest, store.latest(series)?.timeMs ?? 0), 0);
}
