import type { Server, Socket } from 'node:net';
import { defined } from '#rules/plain-data/defined.ts';
import { createBackoff } from '../clock/backoff.ts';
import { systemClock } from '../clock/system-clock.ts';
import { createTroubles } from '../clock/troubles.ts';
import type { EdgeListener } from '../ports/edge.ts';
import type { BrokerChoice, BrokerRefusal, BrokerUser, OwnBroker } from '../ports/hub-adapters.ts';
import { type Core, createCore } from './core.ts';
import { createGatekeeper } from './gatekeeper.ts';
import { createListener, destroyAll, type TlsFiles, whyDeaf } from './listener.ts';
import { isOfThisMachine } from './of-this-machine.ts';
import { createPacketSizeGuard } from './packet-size-guard.ts';
import { createPlaces } from './places.ts';
import { createSessions, shareOf } from './sessions.ts';

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
  /** None: whoever is on this machine may do everything without a password. */
  users?: readonly BrokerUser[];
  /** With users: those on this machine still need none. */
  isOpenToThisMachine?: boolean;
  onRefused?: (refusal: BrokerRefusal) => void;
} & Pick<BrokerChoice, 'memory' | 'onReturned'>;

const brokerDefaults = {
  mostWaitingOfOne: 10_000,
  mostWaitingBytes: 33_554_432,
  mostRetainedBytes: 33_554_432,
  mostUnreleasedBytes: 4_194_304,
  mostSubscriptionBytes: 8_388_608,
  users: [],
  isOpenToThisMachine: false,
  onRefused: () => {},
} as const;

/** So many lasting sessions for each allowed client; a further new one is refused until the broker is started again. */
const sessionsForEachClient = 10;

/** Beside one message of the largest size, so much may wait in the socket of a subscriber that does not read. */
const backlogBytes = 262_144;

const closeWithinMs = 2000;

/**
 * A small MQTT broker (3.1.1) inside the hub, for a room that has none, as an edge named `broker`.
 *
 * Is: loopback unless there are users; bounded in clients, packet size, lasting sessions, subscriptions, and in what it keeps
 * for the absent and of unfinished handshakes. A subscriber that does not read is cut off and holds up nobody. A port that is
 * taken is asked for again. The hub's own link comes in by a listener of its own on loopback, so that it needs neither a password in
 * a file nor the certificate's name, and a place that nobody takes. Lasting sessions outlive a restart.
 * Is not: it keeps no message over a restart, and acknowledges a message when it has it, before the hub has stored it: a power
 * cut takes what was on its way. Who needs more runs a broker of its own.
 *
 * @throws Error  when it is to listen beyond loopback without users
 */
export function createEmbeddedBroker(given: BrokerOptions, listener: EdgeListener, clock = systemClock): OwnBroker {
  const options = { ...brokerDefaults, ...given };
  refuseWideWithoutUsers(options.host, options.users);
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
  const gatekeeper = createGatekeeper(options, counts, () => clock.monotonicMs(), options.onRefused);
  const troubles = createTroubles(() => clock.monotonicMs());
  const places = createPlaces(
    options.mostClients,
    () => shareOf(options.mostClients, gatekeeper.count()),
    (user) => {
      count('refused_full');
      troubles.happened(`places ${user}`, (times) => `no place for a client of ${user || 'anybody'}, ${times} times`);
    },
  );
  const mostSessions = options.mostClients * sessionsForEachClient;
  const sockets = new Set<Socket>();
  const ownSockets = new WeakSet<object>();
  let sessions = newSessions();
  let ownServer: Server | undefined;
  let ownPort: number | undefined;
  let core: Core | undefined;
  let server: Server | undefined;
  let timer: NodeJS.Timeout | undefined;
  let isWanted = false;
  let { host, port } = options;
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

  function newSessions() {
    return createSessions(
      mostSessions,
      () => shareOf(mostSessions, gatekeeper.count()),
      () => clock.nowMs(),
    );
  }

  function openCore(): Promise<Core> {
    sessions = newSessions();
    return createCore({
      counts,
      gatekeeper,
      places,
      sessions,
      troubles,
      memory: options.memory,
      limits: { ...options, mostBacklogBytes },
      isOwn: (connection) => ownSockets.has(connection),
      monotonicMs: () => clock.monotonicMs(),
      admitted: () => {
        lastSuccessMs = clock.nowMs();
      },
      failed: (error) => {
        lastError = error.message;
      },
      returned: (filters, awayMs) => options.onReturned?.(filters, awayMs),
    });
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
    core?.aedes.handle(socket);
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
        tell(false, whyDeaf(error, { host, port }));
        if (isWanted && !opening.listening) timer = setTimeout(() => void listen(), backoff.nextMs());
        resolve();
      });
      opening.listen(port, host, () => {
        const address = opening.address();
        if (typeof address === 'object' && address !== null) port = address.port;
        backoff.reset();
        lastSuccessMs = clock.nowMs();
        tell(true, `listens on ${host} port ${port}`);
        resolve();
      });
    });
  }

  /**
   * On any free port of loopback: nobody is told which, and the password is made again at each start. Through the port of the
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
      core = await openCore();
      await listenForOwnLink();
      await listen();
    },
    async reopen(next) {
      refuseWideWithoutUsers(next.host, next.users);
      const isOther = next.host !== host;
      // Shut first: nobody comes in at the old address by the new rules, nor the other way round.
      if (isOther) {
        clearTimeout(timer);
        server?.close();
      }
      gatekeeper.become(next);
      // Those too who have not said yet who they are.
      if (isLoopback(next.host)) destroyAll([...sockets].filter((socket) => !isOfThisMachine(socket)));
      await core?.cutOff();
      host = next.host;
      if (isOther && isWanted) {
        told = undefined;
        await listen();
      }
    },
    connected: (user, topic) => core?.connected(user, topic) ?? { isConnected: false, isSubscribed: false },
    tryLine: async (user, topic, line) => (await core?.tryLine(user, topic, line)) ?? 'not_connected',
    async stop() {
      if (!isWanted) return;
      isWanted = false;
      clearTimeout(timer);
      const closingServer = server;
      const closingBroker = core?.aedes;
      await core?.end();
      ownServer?.close();
      ownServer = undefined;
      ownPort = undefined;
      server = undefined;
      core = undefined;
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
      ...defined({ lastSuccessMs, lastError }),
      counts: { ...counts, clients: sockets.size, sessions: sessions.size() },
      ...troubleOf(troubles.text()),
    }),
  };
}

const isLoopback = (host: string) => /^(127\.|localhost$|::1$)/.test(host);

function refuseWideWithoutUsers(host: string, users: readonly BrokerUser[]): void {
  if (users.length > 0 || isLoopback(host)) return;
  throw new Error(`a broker without users does not listen on ${host}: anybody could give commands`);
}

function troubleOf(trouble: string | undefined): { trouble?: string } {
  return defined({ trouble });
}
