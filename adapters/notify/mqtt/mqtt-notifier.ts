import * as z from 'zod';
import { PublishFailed } from '../../mqtt/options.ts';
import type { MessageLink } from '../../ports/edge.ts';
import type { Notice, Notifier, Sent } from '../../ports/notifier.ts';

export type NoticeTopics = { phone: string; escalated: string; week: string; alarm(alarm: string): string };

/** What waits in the outbox for the broker. */
const messageSchema = z.object({ topic: z.string().min(1), payload: z.string(), retain: z.boolean() });
type QueuedMessage = z.infer<typeof messageSchema>;

/**
 * Notices over the hub's own link to its broker: a line on the topic of a phone, the state of an alarm retained on a topic of its
 * own, QoS 1.
 *
 * @param link  undefined until there is one
 */
export function createMqttNotifier(topics: NoticeTopics, link: () => MessageLink | undefined): Notifier {
  return {
    destination: 'mqtt',
    itemOf: (notice) => JSON.stringify(messageOf(notice, topics)),
    placeOf(item) {
      const message = readMessage(item);
      return message?.retain === true ? message.topic : undefined;
    },
    isUp: () => link()?.state().isUp === true,
    async send(item) {
      const message = readMessage(item);
      if (message === undefined) return { is: 'unreadable' };
      const way = link();
      if (way === undefined) return { is: 'away', why: 'no broker is connected' };
      try {
        await way.publish(message.topic, message.payload, { retain: message.retain });
        return { is: 'acknowledged' };
      } catch (error) {
        return outcomeOf(error, message.topic);
      }
    },
    reconnect: (why) => link()?.reconnect(why),
  };
}

function messageOf(notice: Notice, topics: NoticeTopics): QueuedMessage {
  switch (notice.is) {
    case 'line': {
      const topic = notice.to === 'phone' ? topics.phone : topics.escalated;
      return { topic, payload: notice.line, retain: false };
    }
    case 'alarm':
      return { topic: topics.alarm(notice.alarm), payload: notice.state, retain: true };
    case 'week':
      return { topic: topics.week, payload: notice.summary, retain: true };
  }
}

function readMessage(item: string): QueuedMessage | undefined {
  try {
    return messageSchema.safeParse(JSON.parse(item)).data;
  } catch {
    return undefined;
  }
}

function outcomeOf(error: unknown, topic: string): Sent {
  if (!(error instanceof PublishFailed)) throw error;
  switch (error.code) {
    case 'link_down':
    case 'too_many_open':
      return { is: 'away', why: error.message };
    case 'link_broke':
      return { is: 'broke', why: `${topic}: ${error.message}` };
    case 'bad_topic':
    case 'refused':
      return { is: 'refused', why: `${topic}: ${error.message}` };
  }
}
