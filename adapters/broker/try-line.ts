import type { Aedes, Client } from 'aedes';
import { topicMatcher } from '../mqtt/topic-routes.ts';
import type { LineTried } from '../ports/hub-adapters.ts';

/** A phone on a weak Wi-Fi has answered by then, milliseconds. */
const acknowledgedWithinMs = 10_000;

type Subscribed = Client & { subscriptions: Record<string, { qos: number }> };

/** The best quality of service at which a client asked for a topic; undefined when it did not. */
export function qosFor(client: Client, topic: string): number | undefined {
  const asked = Object.entries((client as Subscribed).subscriptions).filter(([filter]) =>
    topicMatcher([filter])(topic),
  );
  return asked.length === 0 ? undefined : Math.max(...asked.map(([, { qos }]) => qos));
}

/**
 * Sends a line to those of the clients that asked for its topic, and waits for an acknowledgement. Of two phones under one user
 * one answer is enough. A client acknowledges in the order in which it is sent to (MQTT 3.1.1, 4.6), so with another line on
 * its way that one's acknowledgement may be taken for this one's: it hears the topic either way.
 */
export async function tryLine(
  aedes: Aedes,
  clients: readonly Client[],
  topic: string,
  line: string,
): Promise<LineTried> {
  if (clients.length === 0) return 'not_connected';
  const listening = clients.filter((client) => qosFor(client, topic) !== undefined);
  if (listening.length === 0) return 'not_subscribed';
  const able = listening.filter((client) => (qosFor(client, topic) ?? 0) > 0);
  const packet = { cmd: 'publish', topic, payload: Buffer.from(line), retain: false, dup: false } as const;
  const send = (client: Client, qos: 0 | 1) => client.publish({ ...packet, qos }, () => {});
  if (able.length === 0) {
    for (const client of listening) send(client, 0);
    return 'without_acknowledgement';
  }
  return new Promise((resolve) => {
    const done = (result: LineTried) => {
      clearTimeout(timer);
      aedes.off('ack', acknowledged);
      resolve(result);
    };
    const acknowledged = (_packet: unknown, client: Client) => {
      if (able.includes(client)) done('received');
    };
    const timer = setTimeout(done, acknowledgedWithinMs, 'not_acknowledged');
    aedes.on('ack', acknowledged);
    for (const client of able) send(client, 1);
  });
}
