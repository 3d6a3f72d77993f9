import type { RoomClock } from '#adapters/ports/room-clock.ts';
import type { KeptReading, Store } from '#adapters/ports/store.ts';
import type { Reading, Series } from '#rules/quality/reading.ts';
import { type UndatedNote, undatedKeep } from './undated-keep.ts';

/** About a day of a hundred probes that speak each minute, some 20 MB; beyond it the oldest go and are counted. */
const mostHeld = 100_000;
/** The store has as many series at most. */
const mostSeries = 10_000;
/** So many are handed over in a turn, so that probes are heard between. */
const handedOverAtOnce = 5_000;
/** Two clocks that both show the past may agree on a millisecond; on so many in a row they do not. */
const mostTries = 1_000;

export type DatedStore = {
  /** The store with readings kept back while nobody knows the time, and with the last of each series by arrival. */
  store: Store;
  /**
   * A moment at which this series has no reading yet: the given one, or the next free one where a reading was just given
   * it or the clock has stepped back over it; at most a second later.
   */
  freeMs(series: Series, timeMs: number): number;
  counts(): { held: number; dropped: number };
};

function keyOf({ system, metric, probe }: Series): string {
  return `${system}\0${metric}\0${probe}`;
}

function keptFrom({ timeMs, quality }: Reading): KeptReading | undefined {
  if (quality.flag === 'missing') return undefined;
  return { timeMs, flag: quality.flag, value: quality.flag === 'fail' ? quality.raw : quality.value };
}

function movedBy(readings: readonly Reading[], byMs: number): Reading[] {
  return readings.map((reading) => ({ ...reading, timeMs: Math.round(reading.timeMs + byMs) }));
}

type DatedStoreTold = {
  /** So many in all went for want of room. */
  dropped(count: number): void;
  /** So many were taken before the machine was restarted, and nobody can say when. */
  undatable(count: number): void;
  /** What waits could not be put on disk, or taken from there; it is tried again. */
  keepFailed(error: unknown): void;
};

type DatedStoreLimits = {
  /** Readings that wait for the clock. */
  most: number;
  /** How often they are put on disk, milliseconds. */
  keepEveryMs: number;
};

/**
 * Is: readings that come before the clock is set are kept, from the next flush on also through a stop or a power cut, and
 * stored with their right times once it is, by this run or a later one of the same boot of the machine; after another boot
 * they are stored with the times that the hub counted by itself, which may be too early, and a note in the journal says so.
 * A reading that arrives after the clock stepped back is stored beside those of the same hours and never taken for one of
 * them; the last reading of a series is the last that came, although older ones may carry later times.
 * Is not: able to keep more than `most`.
 */
export function createDatedStore(
  store: Store,
  clock: RoomClock,
  told: DatedStoreTold,
  { most = mostHeld, keepEveryMs = 10_000 }: Partial<DatedStoreLimits> = {},
): DatedStore {
  const startedMs = clock.nowMs();
  const aheadMs = startedMs - clock.monotonicMs();
  const { keep, left, known } = undatedKeep(store, clock.bootId, aheadMs);
  let isLeftSettled = left.length === 0;
  let undatable = 0;
  /** So many of those held are on disk. */
  let onDisk = 0;
  let held: Reading[] = [];
  let dropped = 0;
  const handingOver: { readings: Reading[]; byMs: number }[] = [];
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

  function hold(readings: readonly Reading[]): void {
    for (const reading of readings) held.push(reading);
    if (held.length <= most) return;
    // A tenth at once: to move the rest for each single reading would take all the time there is.
    const excess = Math.min(held.length, Math.max(held.length - most, Math.ceil(most / 10)));
    held = held.slice(excess);
    onDisk = 0;
    dropped += excess;
    told.dropped(dropped);
  }

  function handOver(): void {
    const next = handingOver[0];
    if (next === undefined) return;
    const part = next.readings.splice(0, handedOverAtOnce);
    store.add(part.map((reading) => ({ ...reading, timeMs: reading.timeMs + next.byMs })));
    if (next.readings.length === 0) handingOver.shift();
    if (handingOver.length > 0) setImmediate(handOver);
    else keepUp();
  }

  function handOverAll(): void {
    while (handingOver.length > 0) handOver();
  }

  /** Puts on disk what waits, and takes from there what waits no longer. */
  function keepUp(): void {
    if (handingOver.length > 0) return;
    try {
      if (!isLeftSettled || (held.length === 0 && keep.hasPages())) {
        // First in the record, then no longer beside it: who is killed between finds both, and a repeat is dropped.
        store.flush();
        keep.write(held, 0, isLeftSettled || undatable === 0 ? undefined : noteOf(undatable, clock.nowMs()));
        isLeftSettled = true;
      } else if (onDisk !== held.length) keep.write(held, onDisk);
      onDisk = held.length;
      if (clock.isTrusted()) clearInterval(timer);
    } catch (error) {
      told.keepFailed(error);
    }
  }

  function takeUpLeft(): void {
    for (const { readings, boot, aheadMs: thenAheadMs } of left) {
      const isOfThisBoot = clock.bootId !== undefined && boot === clock.bootId;
      if (known?.boot === boot) store.add(movedBy(readings, known.aheadMs - thenAheadMs));
      else if (isOfThisBoot && clock.isTrusted()) store.add(movedBy(readings, aheadMs - thenAheadMs));
      else if (isOfThisBoot) {
        const moved = movedBy(readings, aheadMs - thenAheadMs);
        remember(moved);
        hold(moved);
      } else {
        undatable += readings.length;
        store.add(readings);
      }
    }
    if (undatable > 0) told.undatable(undatable);
  }

  clock.onChange((change) => {
    if (change.kind === 'refused') return;
    if (change.kind === 'set') {
      if (held.length > 0) handingOver.push({ readings: held, byMs: change.byMs });
      held = [];
      onDisk = 0;
      // In a turn of its own: the time may have been asked for in the middle of a write.
      setImmediate(() => {
        try {
          if (keep.hasPages()) keep.answer(aheadMs + change.byMs);
        } catch (error) {
          told.keepFailed(error);
        }
        handOver();
      });
    }
    lastGivenMs.clear();
    if (change.byMs < 0) overlapMs = Math.max(overlapMs, change.atMs - change.byMs);
    for (const [key, { series, kept }] of lastByArrival)
      lastByArrival.set(key, { series, kept: { ...kept, timeMs: kept.timeMs + change.byMs } });
  });

  function freeInStore(series: Series, timeMs: number): number {
    if (timeMs > overlapMs || !clock.isTrusted()) return timeMs;
    for (let at = timeMs; at < timeMs + mostTries; at += 1) {
      if (store.readings(series, at, at + 1, 1).length === 0) return at;
    }
    return timeMs;
  }

  takeUpLeft();
  const timer = setInterval(keepUp, keepEveryMs);
  timer.unref();
  keepUp();

  return {
    store: {
      uncleanStop: store.uncleanStop,
      whyUnsaved: store.whyUnsaved,
      commit: (commit) => store.commit(commit),
      keepSoon: (documents) => store.keepSoon(documents),
      readings: (...asked) => store.readings(...asked),
      summaries: (...asked) => store.summaries(...asked),
      journal: (query, read) => store.journal(query, read),
      document: (name) => store.document(name),
      outbox: (...asked) => store.outbox(...asked),
      acknowledge: (ids) => store.acknowledge(ids),
      park: (id, reason) => store.park(id, reason),
      parked: (...asked) => store.parked(...asked),
      unpark: (ids) => store.unpark(ids),
      outboxDepth: (destination) => store.outboxDepth(destination),
      rewrite: (...asked) => store.rewrite(...asked),
      dropReadingsBefore: (timeMs) => store.dropReadingsBefore(timeMs),
      add(readings) {
        const isTrusted = clock.isTrusted();
        if (!isTrusted || (overlapMs > Number.NEGATIVE_INFINITY && clock.nowMs() <= overlapMs)) remember(readings);
        else {
          // Passed for good: a step back sets it again.
          overlapMs = Number.NEGATIVE_INFINITY;
          if (lastByArrival.size > 0) lastByArrival.clear();
        }
        if (isTrusted) return store.add(readings);
        // What a device dated itself, before this start, needs no clock of ours.
        hold(readings.filter((reading) => reading.timeMs >= startedMs));
        store.add(readings.filter((reading) => reading.timeMs < startedMs));
      },
      series() {
        const known = new Map(store.series().map((series) => [keyOf(series), series]));
        for (const [key, { series }] of lastByArrival) if (!known.has(key)) known.set(key, series);
        return [...known.values()];
      },
      latest: (series) => lastByArrival.get(keyOf(series))?.kept ?? store.latest(series),
      flush() {
        handOverAll();
        keepUp();
        store.flush();
      },
      async backup(path) {
        handOverAll();
        keepUp();
        await store.backup(path);
      },
      close() {
        clearInterval(timer);
        try {
          handOverAll();
          keepUp();
        } finally {
          store.close();
        }
      },
    },
    freeMs(series, timeMs) {
      const key = keyOf(series);
      const last = lastGivenMs.get(key);
      // A busy hub reads several lines in one go, all at the same moment: the store keeps one reading for each.
      const isTaken = last !== undefined && last >= timeMs && last < timeMs + mostTries;
      const given = freeInStore(series, isTaken ? last + 1 : timeMs);
      if (last !== undefined || lastGivenMs.size < mostSeries) lastGivenMs.set(key, given);
      return given;
    },
    counts: () => ({
      held: held.length + handingOver.reduce((sum, { readings }) => sum + readings.length, 0),
      dropped,
    }),
  };
}

function noteOf(readings: number, atMs: number): UndatedNote {
  const text =
    `${readings} readings came while the clock was not set, before the machine was restarted. ` +
    'They stand at the times that the hub counted by itself and may have been taken later.';
  return { text, atMs, readings };
}

function newestOf(store: Store): number {
  return store.series().reduce((newest, series) => Math.max(newest, store.latest(series)?.timeMs ?? 0), 0);
}
