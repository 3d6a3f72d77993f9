import { hash } from 'node:crypto';

/** A message of QoS 1 that was stored and is being acknowledged. */
export type Taken = { messageId: number; print: string; place?: number };

/** More than any broker has under way to one client; the oldest are forgotten. */
const mostKept = 1000;
const mostBytesAsTheyAre = 64;

/** What tells a message from another one under the same identifier. */
export function printOf(topic: string, payload: Buffer): string {
  const body = payload.length <= mostBytesAsTheyAre ? payload.toString('latin1') : hash('sha1', payload, 'base64');
  return `${topic}\0${body}`;
}

/**
 * Tells a message that the broker sends once more, because our acknowledgement never reached it, from one that is new to us.
 *
 * A broker marks either as a duplicate (DUP) after a connection that broke: of the second kind the first sending was lost. It keeps
 * the identifier of a message for it until our acknowledgement has come (MQTT 3.1.1, 2.3.1 and 4.4). So a duplicate is one that we
 * have when the identifier, topic and payload are those of a message that we have stored, and nothing has shown since that
 * the acknowledgement arrived: an answer to a later ping does (packets of a connection keep their order).
 *
 * Is: an equal reading that was really taken twice is never held for a repeat by its value alone.
 * Is not: kept over a restart of the process, in which the last acknowledgements may be lost as well.
 */
export function createRepeats() {
  const unproven = new Map<number, Taken>();
  let storedCount = 0;
  return {
    isRepeat: ({ messageId, print }: Taken): boolean => unproven.get(messageId)?.print === print,
    stored(taken: Taken): void {
      // Set again, it is the youngest again.
      unproven.delete(taken.messageId);
      storedCount += 1;
      taken.place = storedCount;
      unproven.set(taken.messageId, taken);
      for (const oldest of unproven.keys()) {
        if (unproven.size <= mostKept) return;
        unproven.delete(oldest);
      }
    },
    /** How many were stored so far. */
    storedCount: (): number => storedCount,
    /**
     * The broker has the acknowledgements of what was stored after the first `from` and up to the first `to`; it may use their identifiers
     * for other messages. Numbers, and no list of them: the answer to a ping may stand behind an hour of messages.
     */
    proven(from: number, to: number): void {
      for (const [messageId, { place }] of unproven) {
        if (place! > to) return;
        if (place! > from) unproven.delete(messageId);
      }
    },
    /** The broker holds nothing for us from before, and counts from the beginning. */
    forget: () => unproven.clear(),
  };
}

export type Repeats = ReturnType<typeof createRepeats>;
