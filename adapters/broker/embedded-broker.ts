import type { Server, Socket } from 'node:net';
import { Aedes, type AuthenticateError, type Client } from 'aedes';
import { createBackoff } from '../clock/backoff.ts';
import { systemClock } from '../clock/system-clock.ts';
import type { Edge, EdgeListener } from '../ports/edge.ts';
import type { BrokerOwnLink, BrokerRefusal, BrokerUser } from '../ports/hub-adapters.ts';
import { createGatekeeper } from './gatekeeper.ts';
import { createListener, destroyAll, type TlsFiles, whyDeaf } from './listener.ts';
import { boundMemory, type MemoryStore } from './memory-bounds.ts';
import { createPacketSizeGuard } from './packet-size-guard.ts';
import { createPlaces } from './places.ts';
import { createSubscriptionBounds } from './subscription-bounds.ts';

export type BrokerOptions = {
  /** 127.0.0.1 keeps it to this machine. Beyond it needs `users`. */
  host: string;
  /** 0 takes any free one; `port` then tells which. */
  port: number;
  mostClients: number;
  /** Largest packet, its topic included. A client that sends a larger one is cut off. */
  mostMessageBytes: number;
  mostWaitingOfOne?: number;
  mostWaitingBytes?: number;
  mostRetainedBytes?: number;
  mostUnreleasedBytes?: number;
  mostSubscriptionBytes?: number;
  /** Absent: plain connections. */
  tls?: TlsFiles;
  /** None: the broker asks nobody for a password, and whoever reaches it may do everything. */
  users?: readonly BrokerUser[];
  onRefused?: (refusal: BrokerRefusal) => void;
};

const brokerDefaults = {
  mostWaitingOfOne: 10_000,
  mostWaitingBytes: 33_554_432,
  mostRetainedBytes: 33_554_432,
  mostUnreleasedBytes: 4_194_304,
  mostSubscriptionBytes: 8_388_608,
  users: [],
  onRefused: () => {},
} as const;

/** So many lasting sessions for each allowed client; a further new one is refused until the broker is started again. */
const sessionsForEachClient = 10;

/** Beside one message of the largest size, so much may wait in the socket of a subscriber that does not read. */
const backlogBytes = 262_144;

/** A connection that has not said who it is by then is closed, milliseconds. */
const connectWithinMs = 10_000;

const closeWithinMs = 2000;

/** With users, wrong ones wait so long for their answer, milliseconds. */
const refusedAfterMs = 1000;

export type EmbeddedBroker = Edge & { readonly port: number; readonly ownLink: BrokerOwnLink };

/**
 * A small MQTT broker (3.1.1) inside the hub, for a room that has none, as an edge named `broker`.
 *
 * Is: loopback unless there are users; bounded in clients, packet size, lasting sessions, subscriptions, and in what it keeps
 * for the absent and of unfinished handshakes. A subscriber that does not read is cut off and holds up nobody. A port that is
 * taken is asked for again. With users the hub's own link comes in by a listener of its own on loopback, so that it needs neither a password in a file nor
 * the certificate's name.
 * Is not: it keeps nothing over a restart, and acknowledges a message when it has it, before the hub has stored it: a power
 * cut takes what was on its way. Who needs more runs a broker of its own.
 *
 * @throws Error  when it is to listen beyond loopback without users
 */
export function createEmbeddedBroker(
  given: BrokerOptions,
  listener: EdgeListener,
  clock = systemClock,
): EmbeddedBroker {
  const options = { ...brokerDefaults, ...given };
  if (options.users.length === 0 && !/^(127\.|localhost$|::1$)/.test(options.host)) {
    throw new Error(`a broker without users does not listen on ${options.host}: anybody could give commands`);
  }
  const name = 'broker';
  const counts: Record<string, number> = {
    accepted: 0,
    refused_full: 0,
    refused_sessions: 0,
    too_large: 0,
    slow_cut_off: 0,
    client_errors: 0,
    waiting_dropped: 0,
    waiting_bytes: 0,
    retained_dropped: 0,
    retained_bytes: 0,
    unreleased_refused: 0,
    refused_subscriptions: 0,
  };
  const backoff = createBackoff({ minMs: 1000, maxMs: 60_000 });
  const mostBacklogBytes = options.mostMessageBytes + backlogBytes;
  const gatekeeper = createGatekeeper(options.users, counts, () => clock.monotonicMs(), options.onRefused);
  const places = createPlaces(options.mostClients, counts);
  const sockets = new Set<Socket>();
  const ownSockets = new WeakSet<object>();
  /** Of lasting sessions: the client's identifier, and whose it is. */
  let sessions = new Map<string, string>();
  let ownServer: Server | undefined;
  let ownPort: number | undefined;
  let aedes: Aedes | undefined;
  let server: Server | undefined;
  let timer: NodeJS.Timeout | undefined;
  let isWanted = false;
  let port = options.port;
  let told: boolean | undefined;
  let lastError: string | undefined = 'not started';
  let lastSuccessMs: number | undefined;

  function count(what: string): void {
    counts[what] = (counts[what] ?? 0) + 1;
  }

  function tell(isUp: boolean, detail: string): void {
    lastError = isUp ? undefined : detail;
    if (told === isUp) return;
    told = isUp;
    listener({ name, isUp, detail, atMs: clock.nowMs() });
  }

  async function createAedes(): Promise<Aedes> {
    sessions = new Map();
    const subscriptions = createSubscriptionBounds(options.mostSubscriptionBytes);
    const holderOf = (client: Client) => (client.clean ? client : client.id);
    const broker: Aedes = await Aedes.createBroker({
      connectTimeout: connectWithinMs,
      authenticate: (client, username, password, done) => {
        const refuse = (why: string, returnCode: number) =>
          done(Object.assign(new Error(why), { returnCode }) as AuthenticateError, false);
        const isOwn = ownSockets.has(client.conn);
        const from = (client.conn as Socket).remoteAddress ?? '';
        const login = { username, password: password?.toString('utf8') ?? '' };
        const connected = (broker as unknown as { clients: Record<string, Client | undefined> }).clients[client.id];
        const holder = sessions.get(client.id) ?? gatekeeper.nameOf(connected);
        gatekeeper
          .admit(client, isOwn, from, login, holder)
          .catch(() => false)
          .then((isIn) => {
            if (!isIn) {
              // Whoever guesses waits, and so does a probe that comes back at once for ever.
              setTimeout(refuse, refusedAfterMs, 'not authorized', 5).unref();
              return;
            }
            if (client.clean) sessions.delete(client.id);
            else if (!sessions.has(client.id) && sessions.size >= options.mostClients * sessionsForEachClient) {
              count('refused_sessions');
              refuse('too many lasting sessions', 3);
              return;
            } else sessions.set(client.id, gatekeeper.nameOf(client) ?? '');
            lastSuccessMs = clock.nowMs();
            places.keep(client.conn as Socket);
            done(null, true);
          });
      },
      authorizePublish: (client, packet, done) => {
        gatekeeper.checkPublish(client, packet);
        // As the broker itself has it: what it tells of itself, nobody else may.
        done(packet.topic.startsWith('$SYS/') ? new Error('$SYS/ topic is reserved') : null);
      },
      authorizeSubscribe: (client, subscription, done) => {
        if (!gatekeeper.maySubscribe(client, subscription.topic)) return done(null, null);
        if (subscriptions.take(holderOf(client), subscription.topic)) return done(null, subscription);
        count('refused_subscriptions');
        done(null, null);
      },
      authorizeForward: (client, packet) => {
        if (!gatekeeper.mayReceive(client, packet.topic)) return null;
        if (client.conn.writableLength <= mostBacklogBytes) return packet;
        // Cut off before its socket is full: the broker would wait for it, and everybody with it.
        if (!client.conn.destroyed) count('slow_cut_off');
        client.conn.destroy();
        return null;
      },
    });
    boundMemory((broker as unknown as { persistence: MemoryStore }).persistence, options, subscriptions, counts);
    broker.on('unsubscribe', (filters, client) => subscriptions.release(holderOf(client), filters));
    broker.on('clientDisconnect', (client) => client.clean && subscriptions.forget(client));
    const broken = (_client: Client, _error: Error) => count('client_errors');
    broker.on('clientError', broken);
    broker.on('connectionError', broken);
    // The typings do not name it; without a listener it would end the process.
    (broker as NodeJS.EventEmitter).on('error', (error: Error) => {
      lastError = error.message;
    });
    return broker;
  }

  function welcome(socket: Socket): void {
    if (socket.destroyed) return;
    count('accepted');
    const allows = createPacketSizeGuard(options.mostMessageBytes);
    const read = socket.read.bind(socket);
    // The broker reads its sockets by this call alone, so nothing reaches its parser unseen.
    socket.read = (size?: number) => {
      const chunk: Buffer | null = read(size);
      if (chunk === null || allows(chunk)) return chunk;
      count('too_large');
      socket.destroy();
      return null;
    };
    aedes?.handle(socket);
  }

  /** Resolves when the try is over, whatever came of it. */
  function listen(): Promise<void> {
    return new Promise((resolve) => {
      // Above what is ever allowed to wait, so that the broker is never told to wait for one client.
      const opening = createListener(options.tls, 2 * mostBacklogBytes, sockets, welcome, () => count('client_errors'));
      server = opening;
      // Before anybody else looks at it, TLS too.
      opening.prependListener('connection', places.take);
      opening.on('error', (error) => {
        tell(false, whyDeaf(error, options));
        if (isWanted && !opening.listening) timer = setTimeout(() => void listen(), backoff.nextMs());
        resolve();
      });
      opening.listen(options.port, options.host, () => {
        const address = opening.address();
        if (typeof address === 'object' && address !== null) port = address.port;
        backoff.reset();
        lastSuccessMs = clock.nowMs();
        tell(true, `listens on ${options.host} port ${port}`);
        resolve();
      });
    });
  }

  /**
   * On any free port of loopback: nobody is told which, and the password is made anew at each start. Through the port of the
   * others the hub would join a foreign broker that has taken it.
   */
  async function listenForOwnLink(): Promise<void> {
    const opening = createListener(undefined, 2 * mostBacklogBytes, sockets, (socket) => {
      ownSockets.add(socket);
      welcome(socket);
    });
    await new Promise<void>((resolve, reject) => {
      opening.once('error', reject);
      opening.listen(0, '127.0.0.1', resolve);
    });
    const address = opening.address();
    if (typeof address === 'object' && address !== null) ownPort = address.port;
    ownServer = opening;
  }

  return {
    get port() {
      return port;
    },
    get ownLink() {
      return ownPort === undefined ? { port } : { port: ownPort, ...gatekeeper.ownLogin };
    },
    async start() {
      if (isWanted) return;
      isWanted = true;
      aedes = await createAedes();
      await listenForOwnLink();
      await listen();
    },
    async stop() {
      if (!isWanted) return;
      isWanted = false;
      clearTimeout(timer);
      const closingServer = server;
      const closingBroker = aedes;
      ownServer?.close();
      ownServer = undefined;
      ownPort = undefined;
      server = undefined;
      aedes = undefined;
      const serverClosed = new Promise<void>((resolve) => {
        if (closingServer?.listening) closingServer.close(() => resolve());
        else resolve();
      });
      // A client that does not read its goodbye is not waited for.
      const impatient = setTimeout(() => destroyAll(sockets), closeWithinMs);
      await new Promise<void>((resolve) => {
        if (closingBroker) closingBroker.close(() => resolve());
        else resolve();
      });
      destroyAll(sockets);
      await serverClosed;
      clearTimeout(impatient);
      lastError = 'stopped';
      told = undefined;
    },
    state: () => ({
      name,
      isUp: server?.listening === true,
      ...(lastSuccessMs === undefined ? {} : { lastSuccessMs }),
      ...(lastError === undefined ? {} : { lastError }),
      counts: { ...counts, clients: sockets.size, sessions: sessions.size },
    }),
  };
}
