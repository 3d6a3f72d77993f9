import type { Socket } from 'node:net';
import { Aedes, type AuthenticateError, type Client } from 'aedes';
import { hourMs } from '#rules/clock/durations.ts';
import type { Troubles } from '../clock/troubles.ts';
import type { LineTried } from '../ports/hub-adapters.ts';
import type { Gatekeeper } from './gatekeeper.ts';
import { boundMemory, type MemoryLimits, type MemoryStore } from './memory-bounds.ts';
import { isOfThisMachine } from './of-this-machine.ts';
import type { Places } from './places.ts';
import { createRate, type Rate } from './rates.ts';
import type { Filter, SessionMemory, Sessions } from './sessions.ts';
import { createSubscriptionBounds } from './subscription-bounds.ts';
import { qosFor, tryLine } from './try-line.ts';

/** A connection that has not said who it is by then is closed, milliseconds. */
const connectWithinMs = 10_000;
/** With users, wrong ones wait so long for their answer, milliseconds. */
const refusedAfterMs = 1000;
/** Changes of sessions come together, as when all phones return. */
const saveAfterMs = 1000;
const expireEveryMs = hourMs;
/** So long after its start the broker does not know who was there before. */
const strangersReturnForMs = 600_000;
const mostGone = 1000;

/** Parts a client's name from its user's: neither has it. */
const between = '\u0001';

export type CoreParts = {
  limits: MemoryLimits & { mostBacklogBytes: number; mostSubscriptionBytes: number };
  counts: Record<string, number>;
  gatekeeper: Gatekeeper;
  places: Places;
  sessions: Sessions;
  troubles: Troubles;
  memory: SessionMemory | undefined;
  isOwn(connection: object): boolean;
  monotonicMs(): number;
  admitted(): void;
  failed(error: Error): void;
  returned(filters: readonly string[], awayMs: number | undefined): void;
};

export type Core = {
  aedes: Aedes;
  /** Ends the connections and sessions of those who may not stay. */
  cutOff(): Promise<void>;
  connected(user: string, topic: string): { isConnected: boolean; isSubscribed: boolean };
  tryLine(user: string, topic: string, line: string): Promise<LineTried>;
  /** Keeps the sessions as they are now, and ends what runs. */
  end(): Promise<void>;
};

type Broker = Aedes & { persistence: MemoryStore; clients: Record<string, Client | undefined> };

/** The broker's own work: who comes in, what passes, what is kept. Its sockets are somebody else's. */
export async function createCore(parts: CoreParts): Promise<Core> {
  const { limits, counts, gatekeeper, places, sessions, troubles, memory, monotonicMs } = parts;
  const subscriptions = createSubscriptionBounds(limits.mostSubscriptionBytes);
  const holderOf = (client: Client) => (client.clean ? client : client.id);
  const rates = new WeakMap<Client, Rate>();
  const startedMs = monotonicMs();
  /** When clients without a lasting session left. */
  const gone = new Map<string, number>();
  let saving: NodeJS.Timeout | undefined;

  const count = (what: string) => {
    counts[what] = (counts[what] ?? 0) + 1;
  };
  const nameOf = (client: Client) => gatekeeper.nameOf(client) || 'anybody';

  function rateOf(client: Client): Rate {
    const rate = rates.get(client) ?? createRate(monotonicMs);
    rates.set(client, rate);
    return rate;
  }

  /** Why it may not come in, and the code that it is told (3.1.1, 3.2.2.3). */
  function refusalOf(client: Client): [why: string, code: number] | undefined {
    const user = gatekeeper.nameOf(client) ?? '';
    const isOwn = parts.isOwn(client.conn);
    // Each user has names of his own: nobody can take that of another's phone, nor sit in it before.
    client.id = `${user}${between}${client.id}`;
    if (client.clean) sessions.end(client.id);
    else if (!isOwn && !sessions.take(client.id, user)) {
      count('refused_sessions');
      troubles.happened(
        `sessions ${user}`,
        (times) => `no room for a lasting session of ${nameOf(client)}, ${times} times`,
      );
      return ['too many lasting sessions', 3];
    }
    if (!isOwn && !places.keep(client.conn as Socket, user)) return ['too many clients', 3];
    return undefined;
  }

  const aedes = (await Aedes.createBroker({
    // Its queue of deliveries is worked off by calls within calls: in a flood the stack overflowed and took the process along. What
    // waits is bounded by each client's socket.
    concurrency: 0,
    connectTimeout: connectWithinMs,
    authenticate: (client, username, password, done) => {
      const refuse = (why: string, returnCode: number) =>
        done(Object.assign(new Error(why), { returnCode }) as AuthenticateError, false);
      const socket = client.conn as Socket;
      const from = { address: socket.remoteAddress ?? '', isLocal: isOfThisMachine(socket) };
      const login = { username, password: password?.toString('utf8') ?? '' };
      gatekeeper
        .admit(client, parts.isOwn(client.conn), from, login)
        .catch(() => false)
        .then((isIn) => {
          if (!isIn) {
            // Whoever guesses waits, and so does a probe that comes back at once for ever.
            setTimeout(refuse, refusedAfterMs, 'not authorized', 5).unref();
            return;
          }
          const refusal = refusalOf(client);
          if (refusal !== undefined) {
            refuse(...refusal);
            return;
          }
          parts.admitted();
          done(null, true);
        });
    },
    authorizePublish: (client, packet, done) => {
      gatekeeper.checkPublish(client, packet);
      // As the broker itself has it: what it tells of itself, nobody else may.
      const verdict = packet.topic.startsWith('$SYS/') ? new Error('$SYS/ topic is reserved') : null;
      if (client === null || parts.isOwn(client.conn) || rateOf(client).allows(packet.topic)) return done(verdict);
      const [name, { topic }] = [nameOf(client), packet];
      troubles.happened(`rate ${topic}`, (times) => `${name} floods ${topic}: ${times} messages too many`);
      if (packet.qos > 0) {
        // Its sender keeps what is not acknowledged, and sends no faster than he is answered.
        count('held_back');
        setTimeout(done, rateOf(client).waitMs(packet.topic), verdict);
        return;
      }
      count('too_many');
      gatekeeper.sendNowhere(packet);
      done(verdict);
    },
    authorizeSubscribe: (client, subscription, done) => {
      if (!gatekeeper.maySubscribe(client, subscription.topic)) return done(null, null);
      if (subscriptions.take(holderOf(client), subscription.topic)) return done(null, subscription);
      count('refused_subscriptions');
      done(null, null);
    },
    authorizeForward: (client, packet) => {
      if (!gatekeeper.mayReceive(client, packet.topic)) return null;
      if (client.conn.writableLength <= limits.mostBacklogBytes) return packet;
      // Cut off before its socket is full: the broker would wait for it, and everybody with it.
      if (!client.conn.destroyed) count('slow_cut_off');
      client.conn.destroy();
      return null;
    },
  })) as Broker;
  const store = aedes.persistence;
  boundMemory(store, limits, subscriptions, counts);
  for (const { id, filters } of sessions.restored(memory?.load(), gatekeeper.isKnown)) {
    await store.addSubscriptions({ id }, filters);
    // What waited for it went with the process.
    parts.returned(
      filters.map(({ topic }) => topic),
      undefined,
    );
  }

  async function save(): Promise<void> {
    if (memory === undefined) return;
    const filters = new Map<string, Filter[]>();
    for (const id of sessions.ids()) filters.set(id, await store.subscriptionsByClient({ id }));
    memory.save(sessions.text(filters));
  }
  function saveSoon(): void {
    saving ??= setTimeout(() => {
      saving = undefined;
      save().catch(parts.failed);
    }, saveAfterMs).unref();
  }

  const expiring = setInterval(() => {
    for (const id of sessions.expired((each) => aedes.clients[each] !== undefined)) {
      sessions.end(id);
      store.cleanSubscriptions({ id }).catch(parts.failed);
      saveSoon();
    }
  }, expireEveryMs).unref();

  /** Somebody listens again who was not there for a while: what was said meanwhile has not reached him. */
  function noteReturn(client: Client, filters: readonly string[]): void {
    if (parts.isOwn(client.conn) || sessions.has(client.id)) return;
    const leftMs = gone.get(client.id);
    const isOfBefore = monotonicMs() - startedMs < strangersReturnForMs;
    if (leftMs === undefined && !isOfBefore) return;
    gone.delete(client.id);
    parts.returned(filters, leftMs === undefined ? undefined : monotonicMs() - leftMs);
  }

  aedes.on('subscribe', (given, client) => {
    noteReturn(
      client,
      given.map(({ topic }) => topic),
    );
    saveSoon();
  });
  aedes.on('unsubscribe', (filters, client) => {
    subscriptions.release(holderOf(client), filters);
    saveSoon();
  });
  aedes.on('clientDisconnect', (client) => {
    sessions.seen(client.id);
    if (!client.clean) return;
    subscriptions.forget(client);
    const [oldest] = gone.keys();
    if (gone.size >= mostGone && oldest !== undefined) gone.delete(oldest);
    gone.set(client.id, monotonicMs());
  });
  const broken = () => count('client_errors');
  aedes.on('clientError', broken);
  aedes.on('connectionError', broken);
  // The typings do not name it; without a listener it would end the process.
  (aedes as NodeJS.EventEmitter).on('error', parts.failed);

  const clientsOf = (user: string) =>
    Object.values(aedes.clients).filter(
      (client) => client !== undefined && gatekeeper.nameOf(client) === user,
    ) as Client[];

  return {
    aedes,
    async cutOff() {
      for (const client of Object.values(aedes.clients)) {
        if (client === undefined || parts.isOwn(client.conn)) continue;
        if (!gatekeeper.mayStay(client, isOfThisMachine(client.conn as Socket))) client.close();
      }
      // Nothing waits for a user who is gone, nor for another of the same name.
      for (const id of sessions.ids()) {
        if (gatekeeper.isKnown(id.split(between)[0] ?? '')) continue;
        sessions.end(id);
        await store.cleanSubscriptions({ id });
      }
      saveSoon();
    },
    connected(user, topic) {
      const clients = clientsOf(user);
      const isSubscribed = clients.some((client) => qosFor(client, topic) !== undefined);
      return { isConnected: clients.length > 0, isSubscribed };
    },
    tryLine: (user, topic, line) => tryLine(aedes, clientsOf(user), topic, line),
    async end() {
      clearTimeout(saving);
      clearInterval(expiring);
      for (const id of sessions.ids()) if (aedes.clients[id] !== undefined) sessions.seen(id);
      await save().catch(parts.failed);
    },
  };
}
