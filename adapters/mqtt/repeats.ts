import { hash } from 'node:crypto';

/** A message of QoS 1 that was stored and is being acknowledged. */
export type Taken = { messageId: number; print: string };

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
  return {
    isRepeat: ({ messageId, print }: Taken): boolean => unproven.get(messageId)?.print === print,
    stored(taken: Taken): void {
      // Set anew, it is the youngest again.
      unproven.delete(taken.messageId);
      unproven.set(taken.messageId, taken);
      for (const oldest of unproven.keys()) {
        if (unproven.size <= mostKept) return;
        unproven.delete(oldest);
      }
    },
    /** The broker has the acknowledgements of these; it may use their identifiers for other messages. */
    proven(all: readonly Taken[]): void {
      for (const taken of all) if (unproven.get(taken.messageId) === taken) unproven.delete(taken.messageId);
    },
    /** The broker holds nothing for us from before, and counts from the beginning. */
    forget: () => unproven.clear(),
  };
}

export type Repeats = ReturnType<typeof createRepeats>;
