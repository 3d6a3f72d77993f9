import type { DecoderName } from '../decoders/registry.ts';
import type { Message } from '../ports/edge.ts';
import type { WatchedTopics } from '../ports/hub-adapters.ts';

/** The way to one broker. Where a limit is absent, `mqttDefaults` holds. */
export type MqttOptions = {
  /** mqtt://, mqtts://, ws:// or wss://. */
  url: string;
  protocol: '3.1.1' | '5';
  /** Stable over restarts: the broker keeps the session, and what was sent meanwhile, under this name. */
  clientId: string;
  username?: string;
  password?: string;
  /** PEM, as read from the files. An own `ca` replaces those of the system. */
  tls?: { ca?: Buffer; cert?: Buffer; key?: Buffer };
  /** First levels of the hub's own topics; its state stands retained on `<prefix>/status`. */
  prefix: string;
  /** Topics of commands to the hub; a level may be `+`. */
  commandTopics?: readonly string[];
  watched?: WatchedTopics;
  mostPayloadBytes?: number;
  mostUnstored?: number;
  mostOpenPublishes?: number;
  keepaliveSeconds?: number;
  connectTimeoutMs?: number;
  subscribeTimeoutMs?: number;
  sessionExpirySeconds?: number;
  queueEndWithinMs?: number;
  backoffMinMs?: number;
  backoffMaxMs?: number;
};

export const mqttDefaults = {
  /** A larger message is counted as `too_long`, acknowledged and dropped: it would be as large next time. */
  mostPayloadBytes: 262_144,
  /** Messages that wait for the store. At the limit nothing more is read, and the broker keeps the rest. */
  mostUnstored: 1000,
  /** Messages of the hub without the broker's answer. At the limit `publish` rejects at once; the outbox asks again. */
  mostOpenPublishes: 1000,
  keepaliveSeconds: 30,
  connectTimeoutMs: 10_000,
  /** A broker that takes a connection and answers no subscription is none: the connection is broken off. */
  subscribeTimeoutMs: 10_000,
  /** MQTT 5 only; with 3.1.1 the broker itself decides how long it keeps a session. */
  sessionExpirySeconds: 7 * 86_400,
  /** A broker that does not let the hub hear the end of what it kept: that counts as over then. */
  queueEndWithinMs: 60_000,
  backoffMinMs: 1000,
  backoffMaxMs: 60_000,
} as const;

/** One probe's wish. Several probes may wish for the same topic; it is subscribed and decoded once. */
export type MqttSubscription = {
  /** Without wildcards: a probe is one topic. */
  topic: string;
  format: Exclude<DecoderName, 'csv'>;
  /** For `json` the dotted path to the value; otherwise the payload names its channels itself. */
  channel: string;
  /** For `json`: dotted path to the payload's own time. */
  timePath?: string;
};

/** Takes a message on a command topic. Its acknowledgement follows the promise, like that of a reading. */
export type CommandHandler = (message: Message) => void | Promise<void>;

/**
 * Why a publish did not reach the broker. `link_down` and `too_many_open` pass by waiting. `link_broke`: the connection ended
 * while it was on its way, which some brokers do with what they forbid.
 */
export class PublishFailed extends Error {
  readonly code: 'link_down' | 'link_broke' | 'too_many_open' | 'bad_topic' | 'refused';

  constructor(code: PublishFailed['code'], message: string) {
    super(message);
    this.name = 'PublishFailed';
    this.code = code;
  }
}
