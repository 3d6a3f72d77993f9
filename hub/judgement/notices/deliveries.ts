import type { Notifier } from '#adapters/ports/notifier.ts';
import type { Store } from '#adapters/ports/store.ts';
import { createDelivery, type DeliveryTimes } from './deliver.ts';

/** An alarm is with the broker within a second; one that waits a minute is not on its way. */
const longWaitMs = 60_000;

export type Deliveries = {
  /** Something was stored for people, or a way is back. */
  nudge(): void;
  /** Why something is not told now, in a sentence for each way; none when all is. */
  causes(): string[];
  /** Called every few seconds: tries again, and tells of a way that is there and does not take what it is given. */
  look(): void;
  stop(): Promise<void>;
};

export type DeliveriesParts = {
  store: Pick<Store, 'outbox' | 'acknowledge' | 'park' | 'parked' | 'unpark' | 'outboxDepth'>;
  notifiers: readonly Notifier[];
  nowMs(): number;
  /** As an edge of the hub: whether what is to be told gets out. Told when it changes. */
  report(isUp: boolean, detail: string): void;
  times?: Partial<DeliveryTimes>;
};

/** All ways to people, each with its own queue: one that is stuck holds up no other. */
export function createDeliveries({ store, notifiers, nowMs, report, times }: DeliveriesParts): Deliveries {
  const ways = notifiers.map((notifier) => ({ notifier, delivery: createDelivery(store, notifier, times) }));
  let told = '';

  function causeOf({ notifier, delivery }: (typeof ways)[number]): string | undefined {
    const { destination } = notifier;
    const { waiting, parked, oldestMs } = store.outboxDepth(destination);
    if (parked > 0) {
      const why = delivery.lastRefusal() ?? store.parked(destination, 1)[0]?.reason ?? 'no reason given';
      return `${destination} refuses ${parked} ${parked === 1 ? 'notice' : 'notices'} (${why}); tried again every 10 minutes`;
    }
    const ageMs = oldestMs === undefined ? 0 : nowMs() - oldestMs;
    if (!delivery.isSilent() && ageMs <= longWaitMs) return undefined;
    const what = delivery.isSilent() || notifier.isUp() ? 'does not acknowledge' : 'is away';
    return `${destination} ${what}: ${waiting} waiting, the oldest for ${Math.round(ageMs / 1000)} s`;
  }

  const nudge = () => {
    for (const { delivery } of ways) delivery.nudge();
  };

  return {
    nudge,
    causes: () => ways.flatMap((way) => causeOf(way) ?? []),
    look() {
      nudge();
      // A way that is away has an alarm of its own.
      const stuck = ways
        .filter(({ notifier, delivery }) => notifier.isUp() || delivery.isSilent())
        .flatMap((way) => causeOf(way) ?? []);
      const about = stuck.map((cause) => cause.replaceAll(/\d+/g, '')).join();
      if (about === told) return;
      told = about;
      report(stuck.length === 0, stuck.length === 0 ? 'all notices are delivered' : stuck.join('; '));
    },
    async stop() {
      await Promise.all(ways.map(({ delivery }) => delivery.stop()));
    },
  };
}
