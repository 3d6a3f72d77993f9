/**
 * Acknowledges messages in the order in which they came (MQTT 3.1.1, 4.6.0-2), each only after it was stored: one that is
 * stored early waits for those before it. Its length is bounded by the number of messages that may wait for the store.
 */
export function createAcknowledgements<Taken>(acknowledge: (taken: Taken) => void) {
  const waiting: { taken: Taken; isStored: boolean }[] = [];
  return {
    /** The message was stored before anybody could ask: nothing is remembered of it unless one before it still waits. */
    stored(taken: Taken | undefined): void {
      if (taken === undefined) return;
      if (waiting.length === 0) acknowledge(taken);
      else waiting.push({ taken, isStored: true });
    },
    /** @returns what to call when the message is stored */
    expect(taken: Taken | undefined): () => void {
      if (taken === undefined) return () => undefined;
      const entry = { taken, isStored: false };
      waiting.push(entry);
      return () => {
        entry.isStored = true;
        while (waiting[0]?.isStored) acknowledge(waiting.shift()!.taken);
      };
    },
  };
}
