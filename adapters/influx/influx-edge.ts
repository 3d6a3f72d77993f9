import type { Clock, Edge, EdgeListener, EdgeState } from '../ports/edge.ts';
import type { KeptOutboxItem, Store } from '../ports/store.ts';
import type { InfluxTarget } from './ask-server.ts';
import { deliverGoodLines } from './bad-lines.ts';
import { createLineSender } from './line-sender.ts';

export type InfluxOptions = InfluxTarget & {
  /**
   * For a server that may lose what it has just accepted when it is killed (VictoriaMetrics: up to 6 s of it): items stay in
   * the outbox after the first delivery and are delivered once more after this time, ms, before they are taken out. The
   * server must drop repeats (`-dedup.minScrapeInterval=1ms`; InfluxDB does by itself). 0 for one delivery, as suits
   * InfluxDB, which has a point on disk when it answers 204. By default 30 s for `v1`, behind which VictoriaMetrics may
   * stand, and 0 for `v2`.
   */
  resendAfterMs?: number;
  /** Time between two looks into an empty outbox, ms. */
  pollMs?: number;
  /** First and longest pause after a failure, ms; the pause doubles from one to the other. */
  pauseMs?: { first: number; longest: number };
  /** [0, 1), for the jitter: many hubs must not come back to one server in the same second. */
  random?: () => number;
};

/** One request carries at most so many items, so that what a failure repeats stays small. */
const mostItemsAtOnce = 50;
const mostBytesAtOnce = 1_000_000;
/** Items delivered once that wait for their second delivery; bounds what is looked through for each request. */
const mostAwaitingSecond = 500;

/**
 * Empties the outbox into a time-series server, in order.
 *
 * Is: at least once, in order of ids, for days without a server; a point sent twice is one point; a line the server refuses
 * does not hold up the others: its item is parked with the line and the server's reason once all its good lines are there.
 * Is not: a proof that a server kept what it accepted: VictoriaMetrics answers 204 to lines that it drops. Not a record: the
 * outbox drops its oldest items when it is full, and counts them.
 */
export function createInfluxEdge(
  options: InfluxOptions,
  outbox: Pick<Store, 'outbox' | 'acknowledge' | 'park' | 'outboxDepth'>,
  listener: EdgeListener,
  clock: Clock,
): Edge {
  const sender = createLineSender(options);
  let stopping = new AbortController();
  const send = (lines: string) => sender(lines, stopping.signal);
  const { pollMs = 1_000, pauseMs = { first: 1_000, longest: 60_000 }, random = Math.random } = options;
  const resendAfterMs = options.resendAfterMs ?? (options.api === 'v1' ? 30_000 : 0);
  const counts = { delivered: 0, resent: 0, refused_lines: 0, failures: 0 };
  const deliveredOnceMs = new Map<number, number>();
  let isUp = false;
  let lastSuccessMs: number | undefined;
  let lastError: string | undefined;
  let failuresInRow = 0;
  let isRunning = false;
  let running: Promise<void> = Promise.resolve();
  let wake = () => {};

  function rest(ms: number): Promise<void> {
    if (!isRunning) return Promise.resolve();
    return new Promise((resolve) => {
      const timer = setTimeout(resolve, ms);
      timer.unref();
      wake = () => {
        clearTimeout(timer);
        resolve();
      };
    });
  }

  function succeeded(): void {
    failuresInRow = 0;
    lastSuccessMs = clock.nowMs();
    lastError = undefined;
    if (isUp) return;
    isUp = true;
    listener({ name: 'influx', isUp, detail: `${options.url} takes readings`, atMs: lastSuccessMs });
  }

  function failed(detail: string): void {
    failuresInRow += 1;
    counts.failures += 1;
    const isNews = isUp || lastError === undefined;
    isUp = false;
    lastError = detail;
    if (isNews) listener({ name: 'influx', isUp, detail: `${options.url}: ${detail}`, atMs: clock.nowMs() });
  }

  /** What to send next: items due for their second delivery before those that wait for the first. */
  function nextItems(): KeptOutboxItem[] {
    const waiting = outbox.outbox('influx', deliveredOnceMs.size + mostItemsAtOnce);
    const nowMs = clock.monotonicMs();
    const present = new Set(waiting.map((item) => item.id));
    // A full outbox may have dropped an item in between.
    for (const id of deliveredOnceMs.keys()) if (!present.has(id)) deliveredOnceMs.delete(id);
    const isDue = (item: KeptOutboxItem) => {
      const sentMs = deliveredOnceMs.get(item.id);
      return sentMs !== undefined && nowMs - sentMs >= resendAfterMs;
    };
    const again = waiting.filter(isDue);
    if (again.length > 0) return fitting(again);
    if (deliveredOnceMs.size >= mostAwaitingSecond) return [];
    return fitting(waiting.filter((item) => !deliveredOnceMs.has(item.id)));
  }

  function delivered(items: readonly KeptOutboxItem[]): void {
    counts.delivered += items.filter((item) => !deliveredOnceMs.has(item.id)).length;
    counts.resent += items.filter((item) => deliveredOnceMs.has(item.id)).length;
    const done = items.filter((item) => resendAfterMs === 0 || deliveredOnceMs.has(item.id));
    for (const item of items) {
      if (!done.includes(item)) deliveredOnceMs.set(item.id, clock.monotonicMs());
    }
    if (done.length > 0) outbox.acknowledge(done.map((item) => item.id));
    for (const item of done) deliveredOnceMs.delete(item.id);
  }

  /** @returns why it has to be tried again later, if so */
  async function deliver(items: readonly KeptOutboxItem[]): Promise<string | undefined> {
    const result = await send(items.map((item) => item.payload).join('\n'));
    if (result.ok) {
      delivered(items);
      return undefined;
    }
    if (result.kind === 'later') return result.detail;
    for (const item of items) {
      const delivery = await deliverGoodLines(item.payload.split('\n'), send);
      if (!delivery.ok) return delivery.detail;
      if (delivery.bad.length === 0) {
        delivered([item]);
        continue;
      }
      counts.refused_lines += delivery.bad.length;
      const { line, detail } = delivery.bad[0]!;
      const more = delivery.bad.length > 1 ? `, and ${delivery.bad.length - 1} more lines` : '';
      outbox.park(item.id, `${detail}; line: ${line.slice(0, 200)}${more}. The other lines were delivered.`);
      deliveredOnceMs.delete(item.id);
    }
    return undefined;
  }

  async function step(): Promise<void> {
    try {
      const items = nextItems();
      if (items.length === 0) return await rest(pollMs);
      const trouble = await deliver(items);
      if (trouble === undefined) return succeeded();
      if (!isRunning) return;
      failed(trouble);
    } catch (error) {
      // The outbox itself cannot be read or written now; what was delivered is delivered again.
      failed(error instanceof Error ? error.message : String(error));
    }
    const pause = Math.min(pauseMs.longest, pauseMs.first * 2 ** Math.min(failuresInRow - 1, 30));
    await rest(pause * (0.5 + random() / 2));
  }

  async function run(): Promise<void> {
    while (isRunning) await step();
  }

  return {
    async start() {
      if (isRunning) return;
      isRunning = true;
      stopping = new AbortController();
      running = run();
    },

    async stop() {
      isRunning = false;
      stopping.abort();
      wake();
      await running;
    },

    state(): EdgeState {
      const { waiting, parked, dropped } = outbox.outboxDepth('influx');
      return {
        name: 'influx',
        isUp,
        ...(lastSuccessMs !== undefined && { lastSuccessMs }),
        ...(lastError !== undefined && { lastError }),
        counts: { ...counts, waiting, parked, dropped },
      };
    },
  };
}

/** The first items that go into one request, at least one. */
function fitting(items: readonly KeptOutboxItem[]): KeptOutboxItem[] {
  let bytes = 0;
  return items.slice(0, mostItemsAtOnce).filter((item, index) => {
    bytes += Buffer.byteLength(item.payload);
    return index === 0 || bytes <= mostBytesAtOnce;
  });
}
