import { Socket } from 'node:net';
import mqtt, { type IClientOptions, type MqttClient } from 'mqtt';
import { defined } from '#rules/plain-data/defined.ts';
import type { Message } from '../ports/edge.ts';
import { capPackets } from './cap-packets.ts';
import { type MqttOptions, type mqttDefaults, PublishFailed } from './options.ts';
import type { Repeats } from './repeats.ts';
import { takeMessages } from './take-messages.ts';

export type ConnectionEvents = {
  /** @param hasForgotten  the broker kept nothing for this client from before */
  connected(hasForgotten: boolean): void;
  /** Once for each connection, whether it ever stood or not. */
  ended(reason: string): void;
  /** Stored at return, or when the promise resolves; throws or rejects when it cannot be. */
  message(message: Message): void | Promise<void>;
  /** A message was sent more than once. @param isKnown  and was stored the first time: it is acknowledged and not handed on */
  repeated(isKnown: boolean): void;
  /** True while nothing more may be read. */
  isFull(): boolean;
};

export type Connection = {
  /** Makes the attempt. Whatever comes of it is told through the events, never thrown. */
  begin(): void;
  publish(topic: string, payload: string | Buffer, retain: boolean): Promise<void>;
  /** Resolves with the filters that the broker refused. */
  subscribe(filters: readonly string[], qos: 0 | 1): Promise<string[]>;
  unsubscribe(topic: string): void;
  /** Reads on after `isFull` has become false. */
  resume(): void;
  /** Breaks it off without a word: the broker sends the will, and sends again what was not acknowledged. */
  breakOff(reason: string): void;
  /** Takes leave: the broker sends no will. */
  leave(): Promise<void>;
};

type Options = MqttOptions & Required<Pick<MqttOptions, keyof typeof mqttDefaults>>;

const topicsInOneSubscribe = 100;
const leaveWithinMs = 2000;

/**
 * One connection, from its attempt to its end; the next attempt makes another one. So no message of the hub lies in the
 * library's own stores, which know no bound, to be sent a second time later: what waits, waits in the outbox alone.
 */
export function openConnection(options: Options, will: string, events: ConnectionEvents, repeats: Repeats): Connection {
  const client = mqtt.connect(options.url, clientOptions(options, will));
  const openPublishes = new Set<(error: PublishFailed) => void>();
  let isEnded = false;
  let reason = 'the broker closed the connection';
  /** By the broker, and not by us or for want of an answer. */
  let isHungUp = true;
  let readOn: (() => void) | undefined;

  function end(): void {
    if (isEnded) return;
    isEnded = true;
    for (const reject of openPublishes) reject(new PublishFailed(isHungUp ? 'link_broke' : 'link_down', reason));
    openPublishes.clear();
    readOn = undefined;
    // Takes the library's timers along; the stream is gone already or goes with it.
    client.end(true);
    events.ended(reason);
  }

  /** The messages of MQTT 5 have more before their payload, and are few. */
  let isDirect = false;
  const { acknowledgeAll, read } = takeMessages(client, events, repeats, {
    isEnded: () => isEnded,
    isDirect: () => isDirect,
    hold: (next) => {
      readOn = next;
    },
  });
  capPackets(client, options.mostPayloadBytes, read);
  // All listeners stand before the connection begins: an `error` that nobody hears would end the process.
  client.on('error', (error) => {
    reason = describe(error);
    isHungUp = (error as NodeJS.ErrnoException).code === 'ECONNRESET';
    end();
  });
  client.on('connect', ({ sessionPresent }) => {
    sendAtOnce(client);
    if (!sessionPresent) repeats.forget();
    events.connected(!sessionPresent);
    isDirect = options.protocol !== '5';
  });
  client.on('disconnect', (packet) => {
    reason = `the broker said goodbye (${packet.reasonCode ?? 'no reason'})`;
  });
  client.on('close', end);

  return {
    begin() {
      try {
        client.connect();
      } catch (error) {
        // A certificate that is none is thrown at once.
        reason = describe(error);
        end();
      }
    },
    publish(topic, payload, retain) {
      if (isEnded || !client.connected) return Promise.reject(new PublishFailed('link_down', 'no broker is connected'));
      if (openPublishes.size >= options.mostOpenPublishes) {
        return Promise.reject(new PublishFailed('too_many_open', `${openPublishes.size} messages wait for the broker`));
      }
      return new Promise((resolve, reject) => {
        openPublishes.add(reject);
        client.publish(topic, payload, { qos: 1, retain }, (error) => {
          openPublishes.delete(reject);
          if (error) reject(new PublishFailed('refused', describe(error)));
          else resolve();
        });
      });
    },
    async subscribe(filters, qos) {
      const refused: string[] = [];
      for (let at = 0; at < filters.length && !isEnded; at += topicsInOneSubscribe) {
        refused.push(...(await subscribeSome(client, filters.slice(at, at + topicsInOneSubscribe), qos)));
      }
      return refused;
    },
    unsubscribe(topic) {
      if (!isEnded && client.connected) client.unsubscribe(topic, () => undefined);
    },
    resume() {
      const next = readOn;
      readOn = undefined;
      next?.();
    },
    breakOff(because) {
      reason = because;
      isHungUp = false;
      end();
    },
    async leave() {
      if (isEnded) return;
      reason = 'stopped';
      isHungUp = false;
      acknowledgeAll();
      await new Promise<void>((resolve) => {
        const enough = setTimeout(resolve, leaveWithinMs);
        client.end(false, () => {
          clearTimeout(enough);
          resolve();
        });
      });
      end();
    },
  };
}

/**
 * Without this the system keeps a short message back while the one before it is on its way (RFC 896), up to the 40 ms for
 * which the other side may put off its acknowledgement (RFC 1122, 4.2.3.2, allows 500): long for a notice. What belongs
 * together is gathered here already.
 */
function sendAtOnce(client: MqttClient): void {
  // Over a websocket there is none; the library sees to it there.
  if (client.stream instanceof Socket) client.stream.setNoDelay(true);
}

function subscribeSome(client: MqttClient, filters: readonly string[], qos: 0 | 1): Promise<string[]> {
  return new Promise((resolve) => {
    client.subscribe(Object.fromEntries(filters.map((filter) => [filter, { qos }])), (_error, _granted, packet) => {
      // From 128 on the code says why not. Without an answer the connection is gone, and its end is told elsewhere.
      const codes = packet?.granted ?? [];
      resolve(filters.filter((_filter, index) => Number(codes[index] ?? 0) >= 128));
    });
  });
}

function clientOptions(options: Options, will: string): IClientOptions {
  return {
    manualConnect: true,
    // The edge makes the next attempt, with its own pauses.
    reconnectPeriod: 0,
    reconnectOnConnackError: false,
    resubscribe: false,
    queueQoSZero: false,
    clean: false,
    clientId: options.clientId,
    protocolVersion: options.protocol === '5' ? 5 : 4,
    keepalive: options.keepaliveSeconds,
    connectTimeout: options.connectTimeoutMs,
    ...defined({ username: options.username, password: options.password }),
    ...options.tls,
    will: { topic: `${options.prefix}/status`, payload: Buffer.from(will), qos: 1, retain: true },
    ...(options.protocol === '5'
      ? {
          properties: {
            sessionExpiryInterval: options.sessionExpirySeconds,
            receiveMaximum: Math.min(options.mostUnstored, 65_535),
          },
        }
      : {}),
  };
}

function describe(error: unknown): string {
  if (!(error instanceof Error)) return String(error);
  const code = (error as NodeJS.ErrnoException).code;
  // An address with two families gives an error of errors, whose own message is empty.
  return error.message || String(code ?? error.name);
}
