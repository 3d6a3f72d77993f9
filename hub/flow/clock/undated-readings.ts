import type { RoomClock } from '#adapters/ports/room-clock.ts';
import type { Store } from '#adapters/ports/store.ts';
import type { Reading } from '#rules/quality/reading.ts';
import { type UndatedNote, undatedPages } from './undated-pages.ts';

/** About a day of a hundred probes that speak each minute, some 20 MB; beyond it the oldest go and are counted. */
const mostHeld = 100_000;
/** So many are handed over in a turn, so that probes are heard between. */
const handedOverAtOnce = 5_000;

function movedBy(readings: readonly Reading[], byMs: number): Reading[] {
  return readings.map((reading) => ({ ...reading, timeMs: Math.round(reading.timeMs + byMs) }));
}

export type UndatedNews = {
  /** So many in all went for want of room. */
  dropped(count: number): void;
  /** So many were taken before the machine was restarted, and nobody can say when. */
  undatable(count: number): void;
  /** What waits could not be put on disk, or taken from there; it is tried again. */
  keepFailed(error: unknown): void;
};

export type UndatedLimits = {
  /** Readings that wait for the clock. */
  most: number;
  /** How often they are put on disk, milliseconds. */
  keepEveryMs: number;
};

/**
 * Readings that wait until somebody knows the time, those of earlier runs first.
 *
 * @param waits  is given what was left by an earlier run and waits on, as if it came now
 */
export function createUndatedReadings(
  store: Store,
  clock: RoomClock,
  news: UndatedNews,
  waits: (readings: readonly Reading[]) => void,
  { most = mostHeld, keepEveryMs = 10_000 }: Partial<UndatedLimits> = {},
) {
  const aheadMs = clock.nowMs() - clock.monotonicMs();
  const { pages, left, known } = undatedPages(store, clock.bootId, aheadMs);
  let isLeftSettled = left.length === 0;
  let undatable = 0;
  /** So many of those held are on disk. */
  let onDisk = 0;
  let held: Reading[] = [];
  let dropped = 0;
  const handingOver: { readings: Reading[]; byMs: number }[] = [];

  function hold(readings: readonly Reading[]): void {
    for (const reading of readings) held.push(reading);
    if (held.length <= most) return;
    // A tenth at once: to move the rest for each single reading would take all the time there is.
    const excess = Math.min(held.length, Math.max(held.length - most, Math.ceil(most / 10)));
    held = held.slice(excess);
    onDisk = 0;
    dropped += excess;
    news.dropped(dropped);
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
      if (!isLeftSettled || (held.length === 0 && pages.hasPages())) {
        // First in the record, then no longer beside it: who is killed between finds both, and a repeat is dropped.
        store.flush();
        pages.write(held, 0, isLeftSettled || undatable === 0 ? undefined : noteOf(undatable, clock.nowMs()));
        isLeftSettled = true;
      } else if (onDisk !== held.length) pages.write(held, onDisk);
      onDisk = held.length;
      if (clock.isTrusted()) clearInterval(timer);
    } catch (error) {
      news.keepFailed(error);
    }
  }

  function takeUpLeft(): void {
    for (const { readings, boot, aheadMs: thenAheadMs } of left) {
      const isOfThisBoot = clock.bootId !== undefined && boot === clock.bootId;
      if (known?.boot === boot) store.add(movedBy(readings, known.aheadMs - thenAheadMs));
      else if (isOfThisBoot && clock.isTrusted()) store.add(movedBy(readings, aheadMs - thenAheadMs));
      else if (isOfThisBoot) {
        const moved = movedBy(readings, aheadMs - thenAheadMs);
        waits(moved);
        hold(moved);
      } else {
        undatable += readings.length;
        store.add(readings);
      }
    }
    if (undatable > 0) news.undatable(undatable);
  }

  takeUpLeft();
  const timer = setInterval(keepUp, keepEveryMs);
  timer.unref();
  keepUp();

  return {
    hold,

    /** The time is known: what waits moves by so much and goes to the store. */
    date(byMs: number): void {
      if (held.length > 0) handingOver.push({ readings: held, byMs });
      held = [];
      onDisk = 0;
      // In a turn of its own: the time may have been asked for in the middle of a write.
      setImmediate(() => {
        try {
          if (pages.hasPages()) pages.answer(aheadMs + byMs);
        } catch (error) {
          news.keepFailed(error);
        }
        handOver();
      });
    },

    /** All that can be handed over is, and what waits on is on disk. */
    settle(): void {
      handOverAll();
      keepUp();
    },

    stop: (): void => clearInterval(timer),

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
