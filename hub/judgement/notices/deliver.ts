import type { Notifier, Sent } from '#adapters/ports/notifier.ts';
import type { KeptOutboxItem, OutboxItem, Store } from '#adapters/ports/store.ts';

/** Taken from the outbox in one write; so many a crash repeats at most. */
const batchSize = 20;
const unreadable = 'not an item that the hub writes';
/** A way that breaks twice while the same item is on it breaks because of that item. */
const mostBreaks = 2;
/** An item that twice got no answer goes behind the others, which may be taken, and is set aside when it gets none once they are. */
const mostSilences = 2;
/** The wait for an answer doubles so often: a way that never answers is not broken off every few seconds. */
const mostDoublings = 4;
const mostParked = 1000;

export type DeliveryTimes = {
  /** So long an acknowledgement may take, ms. */
  answerWithinMs: number;
  pauseAfterFailureMs: number;
  /** What was refused is offered again after so long, ms: an access rule may have been changed. */
  retryRefusedMs: number;
  /** Does the work later, unless what it gives is called before. */
  after(ms: number, work: () => void): () => void;
};

const usualTimes: DeliveryTimes = {
  answerWithinMs: 10_000,
  pauseAfterFailureMs: 2_000,
  retryRefusedMs: 600_000,
  after(ms, work) {
    const timer = setTimeout(work, ms);
    timer.unref();
    return () => clearTimeout(timer);
  },
};

export type Delivery = {
  /** Something was stored for this way, or it is back: try now. Never waits for the outcome. */
  nudge(): void;
  /** Ends at once: an item without its answer goes out again at the next start. */
  stop(): Promise<void>;
  /** The way took the last item and gave no answer in time. */
  isSilent(): boolean;
  /** Why the last item that was set aside was refused. */
  lastRefusal(): string | undefined;
};

/**
 * Takes notices from the outbox to one notifier, in order, one at a time.
 * Is: each stored item is sent at least once; it leaves the outbox only after its acknowledgement, some together, since to
 * write that down takes longer than to send the next. One that is refused, or that twice breaks the way, is set aside with its
 * reason, does not hold up those behind it, and is offered again later. One without an answer in time makes the way again.
 * Is not: exactly once; a crash between the two repeats the items.
 */
export function createDelivery(
  store: Pick<Store, 'outbox' | 'acknowledge' | 'park' | 'parked' | 'unpark'>,
  notifier: Notifier,
  given: Partial<DeliveryTimes> = {},
): Delivery {
  const times = { ...usualTimes, ...given };
  const { destination } = notifier;
  /** Sent in this run, and the store could not write it down yet: not sent again for that. */
  const unwritten = new Set<number>();
  const breaks = new Map<number, number>();
  const silences = new Map<number, number>();
  let silencesInARow = 0;
  /** There may be some of an earlier run. */
  let mayHaveParked = true;
  let running: Promise<void> | undefined;
  let askedAgain = false;
  let stopped = false;
  let endWait: (() => void) | undefined;
  let cancelRetry: (() => void) | undefined;
  let lastRefusal: string | undefined;

  function answerTo(item: KeptOutboxItem): Promise<Sent | { is: 'silent' }> {
    return new Promise((resolve) => {
      const withinMs = times.answerWithinMs * 2 ** Math.min(silencesInARow, mostDoublings);
      const cancel = times.after(withinMs, () => resolve({ is: 'silent' }));
      endWait = () => resolve({ is: 'away', why: 'the hub stops' });
      notifier
        .send(item.payload)
        .catch((error: unknown): Sent => ({ is: 'broke', why: String(error) }))
        .then(resolve)
        .finally(cancel);
    });
  }

  function park(id: number, why: string): void {
    lastRefusal = why;
    mayHaveParked = true;
    store.park(id, why);
    silences.delete(id);
  }

  function more(counts: Map<number, number>, id: number): number {
    const count = (counts.get(id) ?? 0) + 1;
    counts.set(id, count);
    const [oldest] = counts.keys();
    if (counts.size > mostParked && oldest !== undefined) counts.delete(oldest);
    return count;
  }

  /** What this one takes the place of, and was set aside or put behind, would undo it later: it goes. */
  function dropOlder({ id, payload }: KeptOutboxItem): void {
    if (!mayHaveParked && breaks.size + silences.size === 0) return;
    const place = notifier.placeOf(payload);
    if (place === undefined) return;
    const isOlder = (other: KeptOutboxItem) => other.id < id && notifier.placeOf(other.payload) === place;
    const parked = mayHaveParked ? store.parked(destination, mostParked).filter(isOlder) : [];
    if (parked.length > 0) store.unpark(parked.map((each) => each.id));
    for (const older of [...parked, ...waiting().filter(isOlder)]) unwritten.add(older.id);
  }

  function waiting(): KeptOutboxItem[] {
    return store
      .outbox(destination, batchSize + unwritten.size + silences.size + breaks.size)
      .filter((item) => !unwritten.has(item.id));
  }

  function nextItems(): KeptOutboxItem[] {
    const isDoubted = ({ id }: KeptOutboxItem) => breaks.has(id) || (silences.get(id) ?? 0) >= mostSilences;
    const items = waiting();
    return [...items.filter((item) => !isDoubted(item)), ...items.filter(isDoubted)].slice(0, batchSize);
  }

  function writeDown(): void {
    if (unwritten.size === 0) return;
    store.acknowledge([...unwritten]);
    unwritten.clear();
  }

  /** @returns false when the way should be left alone for a while */
  async function drain(): Promise<boolean> {
    while (!stopped && notifier.isUp()) {
      const items = nextItems();
      if (items.length === 0) {
        writeDown();
        return true;
      }
      try {
        for (const item of items) {
          if (stopped) return true;
          if (unwritten.has(item.id)) continue;
          if (!(await deliver(item))) return false;
        }
      } finally {
        writeDown();
      }
    }
    return true;
  }

  /** @returns false when the way should be left alone for a while */
  async function deliver(item: KeptOutboxItem): Promise<boolean> {
    const sent = await answerTo(item);
    switch (sent.is) {
      case 'acknowledged':
        unwritten.add(item.id);
        dropOlder(item);
        silencesInARow = 0;
        breaks.delete(item.id);
        silences.delete(item.id);
        return true;
      case 'unreadable':
        park(item.id, unreadable);
        return true;
      case 'refused':
        park(item.id, sent.why);
        return true;
      case 'broke':
        if (more(breaks, item.id) >= mostBreaks) park(item.id, sent.why);
        return false;
      case 'silent':
        silencesInARow += 1;
        // The one before it got its answer: it is not the way that is silent. One that was silent with all others has its turn
        // again once they are through.
        if (more(silences, item.id) >= mostSilences && silencesInARow === 1) {
          park(item.id, 'no acknowledgement, while others get one');
          silencesInARow = 0;
        }
        notifier.reconnect('no acknowledgement of a notice');
        return false;
      case 'away':
        return false;
    }
  }

  function offerRefusedAgain(): void {
    cancelRefused = times.after(times.retryRefusedMs, offerRefusedAgain);
    try {
      const refused = store.parked(destination, mostParked).filter(({ reason }) => reason !== unreadable);
      mayHaveParked = refused.length > 0;
      if (refused.length > 0) store.unpark(refused.map(({ id }) => id));
    } catch {
      // A store that cannot be read or written now; the next turn is set.
    }
    nudge();
  }

  function nudge(): void {
    if (stopped) return;
    if (running !== undefined) {
      askedAgain = true;
      return;
    }
    askedAgain = false;
    cancelRetry?.();
    running = drain()
      // A store that refuses: what was sent is remembered, and written down later.
      .catch(() => false)
      .then((isDone) => {
        running = undefined;
        endWait = undefined;
        // The way tells of its own return; here it is enough to come back later, also when no such news arrives.
        if (!isDone && !stopped) cancelRetry = times.after(times.pauseAfterFailureMs, nudge);
        else if (askedAgain) nudge();
      });
  }

  // What an earlier run set aside.
  let cancelRefused = times.after(times.pauseAfterFailureMs, offerRefusedAgain);

  return {
    nudge,
    isSilent: () => silencesInARow > 0,
    lastRefusal: () => lastRefusal,
    async stop() {
      stopped = true;
      cancelRetry?.();
      cancelRefused();
      endWait?.();
      await running;
    },
  };
}

/**
 * Straight from memory, what the store refuses. Once, without a promise; what was not taken is given to `lost`.
 */
export function sendNow(
  notifiers: readonly Notifier[],
  items: readonly OutboxItem[],
  lost: (item: OutboxItem) => void = () => {},
): void {
  for (const item of items) {
    const notifier = notifiers.find(({ destination }) => destination === item.destination);
    if (notifier?.isUp() !== true) {
      lost(item);
      continue;
    }
    notifier.send(item.payload).then(
      (sent) => {
        if (sent.is !== 'acknowledged' && sent.is !== 'unreadable') lost(item);
      },
      () => lost(item),
    );
  }
}
