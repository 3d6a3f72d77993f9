import { isAscii } from 'node:buffer';
import { type Bucket, type Limit, take } from '../clock/bucket.ts';
import type { Troubles } from '../clock/troubles.ts';
import { decoders } from '../decoders/registry.ts';
import { createRejectGate, emptyRejectCounts } from '../decoders/reject-gate.ts';
import type { Clock, Message } from '../ports/edge.ts';
import type { WatchedTopics } from '../ports/hub-adapters.ts';
import type { Observation, ObservationSink } from '../ports/observation.ts';
import type { CommandHandler, MqttSubscription } from './options.ts';
import { type Route, routesByTopic, topicMatcher } from './topic-routes.ts';

/**
 * What a topic may say: more than any probe does, and at once what it said while the hub was away. Without a time of its own all of
 * that would be dated now. @source common practice, no published source
 */
const usualLimit: Limit = { perSecond: 50, burst: 1000 };
/** A day of a reading every five seconds, whose payload says when. */
const datedLimit: Limit = { perSecond: 50, burst: 20_000 };

/** What is known of a topic before its message is opened. */
type Destination = {
  source: string;
  routes: Route[] | undefined;
  isForHub: boolean;
  isForShow: boolean;
  limit: Limit;
  bucket: Bucket;
};

export type MessageIntake = {
  /**
   * @param hasWaited  at the broker, nobody knows how long: readings without their own time are set aside
   *
   * All that the message carries is stored at return, or when the promise resolves; throws or rejects only when the sink did.
   */
  take(message: Message, hasWaited?: boolean): void | Promise<void>;
  /** All filters to subscribe to, each once. */
  filters: string[];
  /** False for a topic that nobody asked for: it lives on in an old session of the broker. */
  isWanted(topic: string): boolean;
  counts: Record<string, number>;
};

const utf8 = new TextDecoder('utf-8', { fatal: true });

/** @throws TypeError  when the bytes are no text */
function textOf(payload: Buffer): string {
  // Nearly every message, and a fifth of the work of the general way.
  return isAscii(payload) ? payload.toString('latin1') : utf8.decode(payload);
}

/** From messages to observations and commands: size, text, decoders, sink. */
export function createMessageIntake(
  wiring: {
    subscriptions: readonly MqttSubscription[];
    commandTopics: readonly string[];
    watched: WatchedTopics | undefined;
    mostPayloadBytes: number;
    troubles: Troubles;
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
    repeated_dropped: 0,
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

  function destinationOf(topic: string): Destination {
    const ofTopic = routes.get(topic);
    const isDated = ofTopic?.some(
      ({ format, paths }) => format === 'senml' || paths.some(({ timePath }) => timePath !== undefined),
    );
    const limit = isDated === true ? datedLimit : usualLimit;
    return {
      source: `mqtt:${topic}`,
      routes: ofTopic,
      limit,
      bucket: { left: limit.burst, atMs: clock.monotonicMs() },
      isForHub: isCommand(topic),
      isForShow: isWatched(topic),
    };
  }
  /** Of the probes' topics, which are known: to match a topic with the filters is dear, and each reading would pay for it. */
  const destinations = new Map([...routes.keys()].map((topic) => [topic, destinationOf(topic)]));

  /** Unopened: the rest of the room, commands among it, must not wait for what one probe repeats. */
  function isTooMany(topic: string, { source, limit, bucket }: Destination): boolean {
    if (take(bucket, limit, clock.monotonicMs())) return false;
    wiring.troubles.happened(topic, (times) => `somebody floods ${topic}: ${times} messages too many`);
    reject(source, 'too_many', `more than ${limit.perSecond} messages a second`);
    return true;
  }

  function decodeAll(message: Message, source: string, ofTopic: Route[], hasWaited: boolean): Observation[] {
    let text: string;
    try {
      text = textOf(message.payload);
    } catch {
      reject(source, 'not_text', message.payload.subarray(0, 100).toString('latin1'));
      return [];
    }
    const receivedMs = clock.nowMs();
    const observations: Observation[] = [];
    for (const { format, paths } of ofTopic) {
      const decoding = decoders[format](text, { nowMs: receivedMs, paths });
      if (!decoding.ok) {
        reject(source, decoding.reason, decoding.found);
        continue;
      }
      for (const { reason, found } of decoding.setAside) reject(source, reason, found);
      if (decoding.ignoredRecords > 0) count('ignored_records', decoding.ignoredRecords);
      for (const { channel, value, unit, statedMs } of decoding.values) {
        if (hasWaited && statedMs === undefined && !message.isRetained) {
          reject(source, 'waited_undated', `${value}`);
          continue;
        }
        const observation: Observation = { source, channel, value, receivedMs };
        if (unit !== undefined) observation.unit = unit;
        if (statedMs !== undefined) observation.statedMs = statedMs;
        if (message.isRetained) observation.isRetained = true;
        observations.push(observation);
      }
    }
    return observations;
  }

  /** Acknowledged all the same when it fails: a command that fails today would else come again for ever and hold up the readings. */
  async function obey(message: Message, stored: void | Promise<void>): Promise<void> {
    await stored;
    count('commands');
    try {
      await onCommand(message);
    } catch {
      count('commands_failed');
    }
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
    isWanted: (topic) => destinations.has(topic) || isCommand(topic) || isWatched(topic),
    take(message, hasWaited = false) {
      const { topic, payload, isRetained } = message;
      count('messages');
      if (isRetained) count('retained');
      const destination = destinations.get(topic) ?? destinationOf(topic);
      const { source, routes: ofTopic, isForHub, isForShow } = destination;
      if (ofTopic !== undefined && !isForHub && isTooMany(topic, destination)) return;
      // An empty payload is how a retained message is cleared, and says nothing to a probe.
      if (payload.length === 0) {
        if (isForShow) show(message);
        return;
      }
      if (payload.length > wiring.mostPayloadBytes) {
        // How long it was at the broker nobody knows: the surplus is never read (cap-packets.ts).
        reject(source, 'too_long', `more than ${wiring.mostPayloadBytes} bytes`);
        return;
      }
      if (!ofTopic && !isForHub && !isForShow) count('unknown_topic');
      if (isForShow) show(message);
      const observations = ofTopic ? decodeAll(message, source, ofTopic, hasWaited) : [];
      if (observations.length > 0) count('readings', observations.length);
      const stored = observations.length > 0 ? sink.accept(observations) : undefined;
      return isForHub ? obey(message, stored) : stored;
    },
  };
}
