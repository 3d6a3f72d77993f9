import type { Filter } from './sessions.ts';
import type { SubscriptionBounds } from './subscription-bounds.ts';

type Kept = { topic: string; payload: Buffer | string };
type OwnedByClient = { clientId: string };
type Of = { id: string };
type Numbered = Kept & { messageId: number };

/** The part of the broker's memory store that grows with what strangers send. */
export type MemoryStore = {
  storeRetained(packet: Kept): Promise<void>;
  outgoingEnqueue(subscriber: OwnedByClient, packet: Kept): Promise<void>;
  outgoingEnqueueCombi(subscribers: OwnedByClient[], packet: Kept): Promise<void>;
  outgoingClearMessageId(client: Of, packet: unknown): Promise<Kept | undefined>;
  incomingStorePacket(client: Of, packet: Numbered): Promise<void>;
  incomingDelPacket(client: Of, packet: { messageId: number }): Promise<void>;
  cleanIncoming(client: Of): Promise<void>;
  addSubscriptions(client: Of, subscriptions: readonly { topic: string }[]): Promise<void>;
  removeSubscriptions(client: Of, filters: readonly string[]): Promise<void>;
  cleanSubscriptions(client: Of): Promise<void>;
  subscriptionsByClient(client: Of): Promise<Filter[]>;
};

export type MemoryLimits = {
  /** Messages that wait for one subscriber with a lasting session. At the limit the newest is not kept for it. */
  mostWaitingOfOne: number;
  /** Bytes of all waiting messages. At the limit the newest is not kept for anybody who is to get it later. */
  mostWaitingBytes: number;
  /** Bytes of all retained messages. At the limit a larger or further one goes out live and is not retained. */
  mostRetainedBytes: number;
  /** Bytes of messages of QoS 2 that wait for the second half of their handshake. At the limit their sender is cut off. */
  mostUnreleasedBytes: number;
};

/**
 * Puts bounds to the store, which has none of its own. What is not kept is counted as `waiting_dropped` or
 * `retained_dropped`; it still reaches whoever is connected and keeps up. A message of QoS 2 beyond the limit is counted as
 * `unreleased_refused` and reaches nobody.
 */
export function boundMemory(
  store: MemoryStore,
  limits: MemoryLimits,
  subscriptions: SubscriptionBounds,
  counts: Record<string, number>,
): void {
  boundUnreleased(store, limits.mostUnreleasedBytes, counts);
  boundSubscriptions(store, subscriptions);
  const waiting = new Map<string, number>();
  const retained = new Map<string, number>();
  let waitingBytes = 0;
  let retainedBytes = 0;
  const { storeRetained, outgoingEnqueueCombi, outgoingClearMessageId } = store;

  store.outgoingEnqueueCombi = async (subscribers, packet) => {
    const bytes = sizeOf(packet);
    const kept = subscribers.filter(({ clientId }) => {
      const ofOne = waiting.get(clientId) ?? 0;
      if (ofOne >= limits.mostWaitingOfOne || waitingBytes + bytes > limits.mostWaitingBytes) {
        counts['waiting_dropped'] = (counts['waiting_dropped'] ?? 0) + 1;
        return false;
      }
      waiting.set(clientId, ofOne + 1);
      waitingBytes += bytes;
      return true;
    });
    await outgoingEnqueueCombi.call(store, kept, packet);
    counts['waiting_bytes'] = waitingBytes;
  };
  store.outgoingEnqueue = (subscriber, packet) => store.outgoingEnqueueCombi([subscriber], packet);

  store.outgoingClearMessageId = async (client, packet) => {
    const cleared = await outgoingClearMessageId.call(store, client, packet);
    if (cleared) {
      const left = (waiting.get(client.id) ?? 1) - 1;
      if (left > 0) waiting.set(client.id, left);
      else waiting.delete(client.id);
      waitingBytes -= sizeOf(cleared);
      counts['waiting_bytes'] = waitingBytes;
    }
    return cleared;
  };

  store.storeRetained = async (packet) => {
    const bytes = packet.payload.length === 0 ? 0 : sizeOf(packet);
    const before = retained.get(packet.topic) ?? 0;
    if (bytes > 0 && retainedBytes - before + bytes > limits.mostRetainedBytes) {
      counts['retained_dropped'] = (counts['retained_dropped'] ?? 0) + 1;
      return;
    }
    if (bytes === 0) retained.delete(packet.topic);
    else retained.set(packet.topic, bytes);
    retainedBytes += bytes - before;
    counts['retained_bytes'] = retainedBytes;
    await storeRetained.call(store, packet);
  };
}

/** A client may send 65,535 messages of QoS 2 and release none of them; those of a lasting session outlive its connection. */
function boundUnreleased(store: MemoryStore, mostBytes: number, counts: Record<string, number>): void {
  const sizes = new Map<string, Map<number, number>>();
  let bytes = 0;
  const { incomingStorePacket, incomingDelPacket, cleanIncoming } = store;

  function release(id: string, messageIds: Iterable<number>): void {
    const own = sizes.get(id);
    for (const messageId of messageIds) {
      bytes -= own?.get(messageId) ?? 0;
      own?.delete(messageId);
    }
    if (own?.size === 0) sizes.delete(id);
  }

  store.incomingStorePacket = async (client, packet) => {
    const size = sizeOf(packet);
    if (bytes + size > mostBytes) {
      counts['unreleased_refused'] = (counts['unreleased_refused'] ?? 0) + 1;
      throw new Error('too much waits for its release');
    }
    release(client.id, [packet.messageId]);
    const own = sizes.get(client.id) ?? new Map<number, number>();
    sizes.set(client.id, own.set(packet.messageId, size));
    bytes += size;
    await incomingStorePacket.call(store, client, packet);
  };
  store.incomingDelPacket = async (client, packet) => {
    release(client.id, [packet.messageId]);
    await incomingDelPacket.call(store, client, packet);
  };
  store.cleanIncoming = async (client) => {
    release(client.id, [...(sizes.get(client.id)?.keys() ?? [])]);
    await cleanIncoming.call(store, client);
  };
}

/** Of lasting sessions. The broker gives the filters of one packet once for each of them. */
function boundSubscriptions(store: MemoryStore, bounds: SubscriptionBounds): void {
  const { addSubscriptions, removeSubscriptions, cleanSubscriptions } = store;
  const seen = new WeakSet<readonly unknown[]>();
  store.addSubscriptions = async (client, given) => {
    if (seen.has(given)) return;
    seen.add(given);
    const allowed = given.filter(({ topic }) => bounds.take(client.id, topic));
    if (allowed.length > 0) await addSubscriptions.call(store, client, allowed);
  };
  store.removeSubscriptions = async (client, filters) => {
    bounds.release(client.id, filters);
    await removeSubscriptions.call(store, client, filters);
  };
  store.cleanSubscriptions = async (client) => {
    bounds.forget(client.id);
    await cleanSubscriptions.call(store, client);
  };
}

/** Payload and topic, and 500 bytes for the objects around them: an estimate on the safe side, not measured. */
function sizeOf(packet: Kept): number {
  return packet.payload.length + packet.topic.length + 500;
}
