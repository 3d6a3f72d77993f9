import type { Edge, EdgeListener, Message, MessageLink } from '#adapters/ports/edge.ts';
import type { BrokerChoice, BrokerDoor, HubAdapters, OwnBroker, WatchedTopics } from '#adapters/ports/hub-adapters.ts';
import type { ObservationSink } from '#adapters/ports/observation.ts';
import type { Store } from '#adapters/ports/store.ts';
import { defined } from '#rules/plain-data/defined.ts';
import {
  linkChoice,
  mirrorChoice,
  type Secrets,
  secretOf,
  serialChoice,
  subscriptionsOf,
} from '../model/config/edge-choices.ts';
import type { Config } from '../model/config/schema.ts';
import { brokerUsersOf } from '../outside/access/broker-users.ts';

export type RoomEdgesParts = {
  config: Config;
  adapters: HubAdapters;
  secrets: Secrets;
  store: Store;
  sink: ObservationSink;
  listener: EdgeListener;
  onMessage(message: Message): void;
  /** Somebody listens again at the hub's own broker, who missed what was said for so long; undefined: nobody knows since when. */
  onReturned(filters: readonly string[], awayMs: number | undefined): void;
  /** Topics of other hubs that this one shows. */
  watched: WatchedTopics | undefined;
  log: { warn(about: object, line: string): void };
};

export type RoomEdges = {
  /** In the order in which they were started: the broker first, the probes last. */
  list: readonly Edge[];
  link: MessageLink;
  /** The hub's own; undefined with an outside one. */
  broker: OwnBroker | undefined;
  /** Takes the broker's users and address of another configuration, without letting go of whoever may stay. */
  reopenBroker(changed: Config): Promise<void>;
  /** Starts all but the broker, which has to run before the link can be made. */
  start(): Promise<void>;
  /** `start` is done: each has been opened or tried once. */
  isStarted(): boolean;
  /** Probes first, the link next, the broker last: what was accepted still finds its way. */
  stop(): Promise<void>;
};

/** The connections to the outside that the configuration asks for. The hub's own broker runs when this resolves. */
export async function createRoomEdges(parts: RoomEdgesParts): Promise<RoomEdges> {
  const { config, adapters, secrets, store, sink, listener, onMessage } = parts;
  const broker = config.mqtt.url === undefined ? adapters.createBroker(brokerChoice(parts), listener) : undefined;
  await broker?.start();
  const link = adapters.createLink(
    {
      ...linkChoice(config, broker?.ownLink, secrets),
      ...defined({ watched: parts.watched }),
    },
    subscriptionsOf(config),
    sink,
    listener,
    onMessage,
  );
  const others: Edge[] = [
    link,
    ...(config.influx === undefined
      ? []
      : [adapters.createMirror(mirrorChoice(config.influx, secrets), store, listener)]),
    ...config.serial.map((port) => adapters.createSerial(serialChoice(port), sink, listener)),
  ];
  const list = broker === undefined ? others : [broker, ...others];
  let isStarted = false;
  return {
    list,
    link,
    broker,
    async reopenBroker(changed) {
      await broker?.reopen({ host: changed.broker.host, ...brokerDoor(changed, secrets) });
    },
    async start() {
      for (const edge of others) await edge.start();
      isStarted = true;
    },
    isStarted: () => isStarted,
    async stop() {
      for (const edge of list.toReversed()) await edge.stop();
    },
  };
}

/** The document of the store with the lasting sessions of the hub's own broker. */
const sessionsName = 'broker-sessions';

/** Whom the hub's own broker lets in, by the configuration. */
function brokerDoor(config: Config, secrets: Secrets): BrokerDoor {
  return {
    users: brokerUsersOf(config, (env, file) => secretOf(secrets, env, file)),
    isOpenToThisMachine: config.broker.this_machine_without_password,
  };
}

function brokerChoice({ config, secrets, store, log, onReturned }: RoomEdgesParts): BrokerChoice {
  const { host, port, most_clients, most_message_bytes, cert_file, key_file } = config.broker;
  return {
    host,
    port,
    mostClients: most_clients,
    mostMessageBytes: most_message_bytes,
    ...(cert_file === undefined || key_file === undefined ? {} : { certFile: cert_file, keyFile: key_file }),
    ...brokerDoor(config, secrets),
    memory: {
      load: () => store.document(sessionsName),
      save: (body) => store.keepSoon([{ name: sessionsName, body }]),
    },
    onReturned,
    onRefused: (refusal) => log.warn(refusal, 'the broker did not allow this'),
  };
}
