import { randomUUID } from 'node:crypto';
import { defined } from '#rules/plain-data/defined.ts';
import { createBackoff } from '../clock/backoff.ts';
import { createTroubles } from '../clock/troubles.ts';
import type { Clock, EdgeListener, MessageLink } from '../ports/edge.ts';
import type { ObservationSink } from '../ports/observation.ts';
import { type Connection, type ConnectionEvents, openConnection } from './connection.ts';
import { createMessageIntake } from './message-intake.ts';
import {
  type CommandHandler,
  type MqttOptions,
  type MqttSubscription,
  mqttDefaults,
  PublishFailed,
} from './options.ts';
import { createRepeats } from './repeats.ts';

/** A connection that lasted so long, or took something, was a good one: the pause before the next attempt is short again. */
const steadyMs = 10_000;
const farewellWithinMs = 2000;

/**
 * The link to one broker, as an edge named `mqtt`.
 *
 * Is: a message of QoS 1 that came in is acknowledged after the promise of the sink, in order, so that what a crash takes
 * from the store the broker sends again. What is sent to the hub while it is away waits in the broker's session, as long as
 * that keeps it. `publish` resolves on the broker's acknowledgement. A broker that refuses, vanishes, freezes or comes
 * back is asked again for good, after pauses of 1 to 60 s.
 * What comes once more because its acknowledgement was lost is dropped and counted (repeats.ts).
 * Is not: able to tell such a repeat after a restart of the process; readers drop repeats by key. A reading
 * without a time of its own that the broker kept while the link was down is counted (`waited_undated`) and left out: its
 * arrival says nothing of when it was taken. `publish` keeps nothing: it rejects
 * while the broker is away, and the outbox asks again. While the store is full nothing is read, not even the broker's
 * answers: what is published waits as well, and the link may break and come back until the store moves on.
 *
 * `<prefix>/status` holds, retained, `{"state": "online", "since": <ISO 8601>}`; at an orderly stop `"offline"` with its
 * time; and as the last will `"offline"` with `since` null, as nobody was there to see when.
 */
export function createMqttEdge(
  given: MqttOptions,
  subscriptions: readonly MqttSubscription[],
  sink: ObservationSink,
  listener: EdgeListener,
  onCommand: CommandHandler,
  clock: Clock,
): MessageLink {
  const options = { ...mqttDefaults, ...given };
  const name = 'mqtt';
  const statusTopic = `${options.prefix}/status`;
  const queueEndTopic = `${options.prefix}/queue-end`;
  const backoff = createBackoff({ minMs: options.backoffMinMs, maxMs: options.backoffMaxMs });
  const troubles = createTroubles(() => clock.monotonicMs());
  const intake = createMessageIntake(
    {
      subscriptions,
      commandTopics: options.commandTopics ?? [],
      watched: options.watched,
      mostPayloadBytes: options.mostPayloadBytes,
      troubles,
    },
    sink,
    onCommand,
    clock,
  );
  const repeats = createRepeats();
  const counts = intake.counts;
  Object.assign(counts, { connected: 0, refused_topics: 0, published: 0, publish_failed: 0 });
  let connection: Connection | undefined;
  let timer: NodeJS.Timeout | undefined;
  let isWanted = false;
  let isUp = false;
  /** The broker has taken something on this connection. */
  let isUseful = false;
  let told: boolean | undefined;
  /** Some broker kept nothing, and the listener has not heard of it: the connection that found it out may end before. */
  let isForgetUntold = false;
  let lastError: string | undefined = 'not started';
  let lastSuccessMs: number | undefined;
  /** Counted over all connections: a store that hangs stays full however often the broker is left and found again. */
  let unstored = 0;
  /** Called when the last waiting message is stored. */
  let whenAllStored: (() => void) | undefined;

  function count(what: string): void {
    counts[what] = (counts[what] ?? 0) + 1;
  }

  function tell(up: boolean, detail: string): void {
    isUp = up;
    lastError = up ? undefined : detail;
    if (told === up) return;
    told = up;
    const hasForgotten = up && isForgetUntold;
    if (up) isForgetUntold = false;
    listener({ name, isUp: up, detail, atMs: clock.nowMs(), ...(hasForgotten ? { hasForgotten } : {}) });
  }

  function status(state: 'online' | 'offline', sinceMs: number | undefined): string {
    return JSON.stringify({ state, since: sinceMs === undefined ? null : new Date(sinceMs).toISOString() });
  }

  async function publish(topic: string, payload: string | Buffer, retain: boolean): Promise<void> {
    try {
      if (topic === '' || /[+#\0]/.test(topic))
        throw new PublishFailed('bad_topic', `no topic to publish to: "${topic}"`);
      if (!connection) throw new PublishFailed('link_down', 'no broker is connected');
      await connection.publish(topic, payload, retain);
      count('published');
      lastSuccessMs = clock.nowMs();
    } catch (error) {
      count('publish_failed');
      throw error;
    }
  }

  function connect(): void {
    const startedMs = clock.monotonicMs();
    /** Topics of an older configuration, given up on this connection; beyond 100 the rest waits for the next one. */
    const givenUp = new Set<string>();
    let own: Connection;
    let endWaiting = () => {};
    /** What the broker kept for this client from before comes first; up to the end of it nobody knows when it was sent. */
    let isQueued = false;
    /** A message came: what the broker kept for an hour may stand before its answer to a subscription for longer than that may take. */
    let hasHeard = false;
    const queueEnd = randomUUID();

    function settled(isStored: boolean): void {
      if (isStored) lastSuccessMs = clock.nowMs();
      unstored -= 1;
      if (unstored < options.mostUnstored) connection?.resume();
      // After the acknowledgement, which follows.
      if (unstored === 0 && whenAllStored) setImmediate(whenAllStored);
    }

    function fail(error: unknown): never {
      count('not_stored');
      // The broker sends it again on the next connection; the growing pause keeps a broken store from a busy loop.
      own.breakOff('the store refused a message');
      settled(false);
      throw error;
    }

    /** A broker delivers in order: what it kept, then this message to ourselves. */
    async function markQueueEnd(): Promise<string[]> {
      if (!isQueued) return [];
      const over = () => {
        isQueued = false;
      };
      setTimeout(over, options.queueEndWithinMs).unref();
      await own.subscribe([queueEndTopic], 1);
      publish(queueEndTopic, queueEnd, false).catch(() => undefined);
      // One that refuses it refuses no reading.
      return [];
    }

    const events: ConnectionEvents = {
      connected(hasForgotten) {
        count('connected');
        isForgetUntold ||= hasForgotten;
        isQueued = !hasForgotten;
        lastSuccessMs = clock.nowMs();
        publish(statusTopic, status('online', lastSuccessMs), true).catch(() => undefined);
        const watched = options.watched?.filters ?? [];
        for (const filter of options.watched?.former ?? []) own.unsubscribe(filter);
        const impatient = setTimeout(() => {
          if (!hasHeard) return own.breakOff('the broker does not answer a subscription');
          hasHeard = false;
          impatient.refresh();
        }, options.subscribeTimeoutMs);
        endWaiting = () => clearTimeout(impatient);
        Promise.all([own.subscribe(intake.filters, 1), own.subscribe(watched, 0), markQueueEnd()]).then((answers) => {
          endWaiting();
          const refused = answers.flat();
          if (connection !== own) return;
          counts['refused_topics'] = refused.length;
          const but =
            refused.length === 0 ? '' : `, but it refuses ${refused.length} topics: ${refused.slice(0, 5).join(', ')}`;
          tell(true, `connected to the broker${but}`);
        });
      },
      ended(reason) {
        endWaiting();
        if (connection !== own) return;
        connection = undefined;
        if (isUseful || clock.monotonicMs() - startedMs >= steadyMs) backoff.reset();
        isUseful = false;
        tell(false, reason);
        if (isWanted) timer = setTimeout(connect, backoff.nextMs());
      },
      message(message) {
        hasHeard = true;
        if (message.topic === queueEndTopic) {
          if (message.payload.toString('latin1') === queueEnd) isQueued = false;
          return;
        }
        if (!intake.isWanted(message.topic) && givenUp.size < 100 && !givenUp.has(message.topic)) {
          givenUp.add(message.topic);
          own.unsubscribe(message.topic);
        }
        unstored += 1;
        try {
          const stored = intake.take(message, isQueued);
          if (stored === undefined) settled(true);
          else return stored.then(() => settled(true), fail);
        } catch (error) {
          fail(error);
        }
      },
      repeated(isKnown) {
        count('repeated');
        if (isKnown) count('repeated_dropped');
      },
      isFull: () => unstored >= options.mostUnstored,
    };
    try {
      own = openConnection(options, status('offline', undefined), events, repeats);
    } catch (error) {
      // An address or a key that the library cannot use at all; the pauses keep the complaint quiet.
      tell(false, error instanceof Error ? error.message : String(error));
      timer = setTimeout(connect, backoff.nextMs());
      return;
    }
    connection = own;
    own.begin();
  }

  return {
    async start() {
      if (isWanted) return;
      isWanted = true;
      connect();
    },
    async stop() {
      isWanted = false;
      clearTimeout(timer);
      if (connection && isUp) {
        // What is being stored gets its acknowledgement, so that it is not sent again at the next start.
        const allStored = new Promise<void>((resolve) => {
          whenAllStored = resolve;
          if (unstored === 0) resolve();
        });
        const farewell = publish(statusTopic, status('offline', clock.nowMs()), true).catch(() => undefined);
        await withinMs(Promise.all([allStored, farewell]), farewellWithinMs);
      }
      const leaving = connection;
      connection = undefined;
      await leaving?.leave();
      isUp = false;
      told = undefined;
      lastError = 'stopped';
    },
    async publish(topic, payload, { retain }) {
      await publish(topic, payload, retain);
      isUseful = true;
    },
    reconnect: (why) => connection?.breakOff(why),
    state() {
      const trouble = troubles.text();
      return {
        name,
        isUp,
        ...defined({ lastSuccessMs, lastError, trouble }),
        counts: { ...counts, unstored },
      };
    },
  };
}

/** Waits for the promise, but no longer than that. */
async function withinMs(promise: Promise<unknown>, ms: number): Promise<void> {
  let timer: NodeJS.Timeout | undefined;
  await Promise.race([
    promise,
    new Promise((resolve) => {
      timer = setTimeout(resolve, ms);
    }),
  ]);
  clearTimeout(timer);
}
