import { decoders } from '../decoders/registry.ts';
import { createRejectGate, emptyRejectCounts } from '../decoders/reject-gate.ts';
import type { Clock, Message } from '../ports/edge.ts';
import type { WatchedTopics } from '../ports/hub-adapters.ts';
import type { Observation, ObservationSink } from '../ports/observation.ts';
import type { CommandHandler, MqttSubscription } from './options.ts';
import { type Route, routesByTopic, topicMatcher } from './topic-routes.ts';

export type MessageIntake = {
  /** Resolves when all that the message carries is stored; rejects only when the sink did. */
  take(message: Message): Promise<void>;
  /** All filters to subscribe to, each once. */
  filters: string[];
  /** False for a topic that nobody asked for: it lives on in an old session of the broker. */
  isWanted(topic: string): boolean;
  counts: Record<string, number>;
};

const utf8 = new TextDecoder('utf-8', { fatal: true });

/** From messages to observations and commands: size, text, decoders, sink. */
export function createMessageIntake(
  wiring: {
    subscriptions: readonly MqttSubscription[];
    commandTopics: readonly string[];
    watched: WatchedTopics | undefined;
    mostPayloadBytes: number;
  },
  sink: ObservationSink,
  onCommand: CommandHandler,
  clock: Clock,
): MessageIntake {
  const routes = routesByTopic(wiring.subscriptions);
  const counts: Record<string, number> = {
    messages: 0,
    readings: 0,
    commands: 0,
    commands_failed: 0,
    watched: 0,
    watched_failed: 0,
    retained: 0,
    repeated: 0,
    unknown_topic: 0,
    ignored_records: 0,
    not_stored: 0,
    ...emptyRejectCounts(),
  };
  const reject = createRejectGate(sink, clock, counts);
  const count = (name: string, more = 1) => {
    counts[name] = (counts[name] ?? 0) + more;
  };
  const isCommand = topicMatcher(wiring.commandTopics);
  const isWatched = topicMatcher(wiring.watched?.filters ?? []);

  function decodeAll(message: Message, ofTopic: Route[]): Observation[] {
    const source = `mqtt:${message.topic}`;
    let text: string;
    try {
      text = utf8.decode(message.payload);
    } catch {
      reject(source, 'not_text', message.payload.subarray(0, 100).toString('latin1'));
      return [];
    }
    const receivedMs = clock.nowMs();
    return ofTopic.flatMap(({ format, paths }) => {
      const decoding = decoders[format](text, { nowMs: receivedMs, paths });
      if (!decoding.ok) {
        reject(source, decoding.reason, decoding.found);
        return [];
      }
      for (const { reason, found } of decoding.setAside) reject(source, reason, found);
      count('ignored_records', decoding.ignoredRecords);
      return decoding.values.map((value) => ({
        source,
        ...value,
        receivedMs,
        ...(message.isRetained ? { isRetained: true } : {}),
      }));
    });
  }

  function show(message: Message): void {
    count('watched');
    try {
      wiring.watched?.take(message);
    } catch {
      count('watched_failed');
    }
  }

  return {
    counts,
    filters: [...new Set([...routes.keys(), ...wiring.commandTopics])],
    isWanted: (topic) => routes.has(topic) || isCommand(topic) || isWatched(topic),
    async take(message) {
      const { topic, payload, isRetained } = message;
      count('messages');
      if (isRetained) count('retained');
      // An empty payload is how a retained message is cleared, and says nothing to a probe.
      const isForShow = isWatched(topic);
      if (payload.length === 0) {
        if (isForShow) show(message);
        return;
      }
      if (payload.length > wiring.mostPayloadBytes) {
        reject(`mqtt:${topic}`, 'too_long', `${payload.length} bytes`);
        return;
      }
      const ofTopic = routes.get(topic);
      const isForHub = isCommand(topic);
      if (!ofTopic && !isForHub && !isForShow) count('unknown_topic');
      if (isForShow) show(message);
      const observations = ofTopic ? decodeAll(message, ofTopic) : [];
      if (observations.length > 0) {
        count('readings', observations.length);
        await sink.accept(observations);
      }
      if (isForHub) {
        count('commands');
        try {
          await onCommand(message);
        } catch {
          // Acknowledged all the same: a command that fails today would else come again for ever and hold up the readings.
          count('commands_failed');
        }
      }
    },
  };
}
