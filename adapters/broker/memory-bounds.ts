type Kept = { topic: string; payload: Buffer | string };
type OwnedByClient = { clientId: string };

/** The part of the broker's memory store that grows with what strangers send. */
export type MemoryStore = {
  storeRetained(packet: Kept): Promise<void>;
  outgoingEnqueue(subscriber: OwnedByClient, packet: Kept): Promise<void>;
  outgoingEnqueueCombi(subscribers: OwnedByClient[], packet: Kept): Promise<void>;
  outgoingClearMessageId(client: { id: string }, packet: unknown): Promise<Kept | undefined>;
};

export type MemoryLimits = {
  /** Messages that wait for one subscriber with a lasting session. At the limit the newest is not kept for it. */
  mostWaitingOfOne: number;
  /** Bytes of all waiting messages. At the limit the newest is not kept for anybody who is to get it later. */
  mostWaitingBytes: number;
  /** Bytes of all retained messages. At the limit a larger or further one goes out live and is not retained. */
  mostRetainedBytes: number;
};

/**
 * Puts bounds to the store, which has none of its own. What is not kept is counted as `waiting_dropped` or
 * `retained_dropped`; it still reaches whoever is connected and keeps up.
 */
export function boundMemory(store: MemoryStore, limits: MemoryLimits, counts: Record<string, number>): void {
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

/** Payload and topic, and 500 bytes for the objects around them: an estimate on the safe side, not measured. */
function sizeOf(packet: Kept): number {
  return packet.payload.length + packet.topic.length + 500;
}
