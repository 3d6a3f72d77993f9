import type { RoomClock } from '#adapters/ports/room-clock.ts';
import type { Store } from '#adapters/ports/store.ts';
import type { Series } from '#rules/quality/reading.ts';
import { createLastArrivals } from './last-arrivals.ts';
import { createUndatedReadings, type UndatedLimits, type UndatedNews } from './undated-readings.ts';

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
  news: UndatedNews,
  limits: Partial<UndatedLimits> = {},
): DatedStore {
  const startedMs = clock.nowMs();
  const arrivals = createLastArrivals(store, clock);
  const undated = createUndatedReadings(store, clock, news, arrivals.remember, limits);

  clock.onChange((change) => {
    if (change.kind === 'refused') return;
    if (change.kind === 'set') undated.date(change.byMs);
    arrivals.move(change.atMs, change.byMs);
  });

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
        arrivals.arrived(readings);
        if (clock.isTrusted()) return store.add(readings);
        // What a device dated itself, before this start, needs no clock of ours.
        undated.hold(readings.filter((reading) => reading.timeMs >= startedMs));
        store.add(readings.filter((reading) => reading.timeMs < startedMs));
      },
      series: arrivals.series,
      latest: arrivals.latest,
      flush() {
        undated.settle();
        store.flush();
      },
      async backup(path) {
        undated.settle();
        await store.backup(path);
      },
      close() {
        undated.stop();
        try {
          undated.settle();
        } finally {
          store.close();
        }
      },
    },
    freeMs: arrivals.freeMs,
    counts: undated.counts,
  };
}
