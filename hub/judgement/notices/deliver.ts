import * as z from 'zod';
import type { MessageLink } from '#adapters/ports/edge.ts';
import type { OutboxItem, Store } from '#adapters/ports/store.ts';

const queuedMessage = z.object({ topic: z.string().min(1), payload: z.string(), retain: z.boolean() });

/** Taken from the outbox in one write; so many a crash repeats at most. */
const batchSize = 20;
const pauseAfterFailureMs = 2_000;

export type Delivery = {
  /** Something was stored for the broker, or the broker is back: try now. Never waits for the outcome. */
  nudge(): void;
  stop(): Promise<void>;
};

/**
 * Takes notices from the outbox to the broker, in order, one at a time.
 * Is: each stored message is published at least once; it leaves the outbox only after the broker's acknowledgement, some
 * together, since to write that down takes longer than to publish the next.
 * Is not: exactly once; a crash between the two repeats the messages.
 */
export function createDelivery(
  store: Pick<Store, 'outbox' | 'acknowledge' | 'park'>,
  link: Pick<MessageLink, 'publish' | 'state'>,
): Delivery {
  let running: Promise<void> | undefined;
  let askedAgain = false;
  let stopped = false;
  let retry: NodeJS.Timeout | undefined;

  async function drain(): Promise<void> {
    while (!stopped && link.state().isUp) {
      const items = store.outbox('mqtt', batchSize);
      if (items.length === 0) return;
      const published: number[] = [];
      try {
        for (const item of items) {
          if (stopped) return;
          const message = parsed(item.payload);
          if (message === undefined) {
            store.park(item.id, 'not a message that the hub writes');
            continue;
          }
          await link.publish(message.topic, message.payload, { retain: message.retain });
          published.push(item.id);
        }
      } finally {
        if (published.length > 0) store.acknowledge(published);
      }
    }
  }

  function nudge(): void {
    if (stopped) return;
    if (running !== undefined) {
      askedAgain = true;
      return;
    }
    askedAgain = false;
    running = drain()
      .catch(() => {
        // The link tells of its own loss; here it is enough to come back later, also when no such news arrives.
        retry = setTimeout(nudge, pauseAfterFailureMs);
        retry.unref();
      })
      .finally(() => {
        running = undefined;
        if (askedAgain) nudge();
      });
  }

  return {
    nudge,
    async stop() {
      stopped = true;
      clearTimeout(retry);
      await running;
    },
  };
}

/**
 * Straight from memory to the broker: what the store refuses, and answers that are no news in an hour. Once, without a
 * promise; what did not reach the broker is given to `lost`.
 */
export function sendNow(
  link: Pick<MessageLink, 'publish' | 'state'>,
  items: readonly OutboxItem[],
  lost: (item: OutboxItem) => void = () => {},
): void {
  for (const item of items) {
    const message = parsed(item.payload);
    if (message === undefined) continue;
    if (!link.state().isUp) lost(item);
    else link.publish(message.topic, message.payload, { retain: message.retain }).catch(() => lost(item));
  }
}

function parsed(payload: string): z.infer<typeof queuedMessage> | undefined {
  try {
    const result = queuedMessage.safeParse(JSON.parse(payload));
    return result.success ? result.data : undefined;
  } catch {
    return undefined;
  }
}
