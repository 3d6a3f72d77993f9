import { randomBytes } from 'node:crypto';
import { isIPv6 } from 'node:net';
import type { Client, PublishPacket } from 'aedes';
import type { BrokerDoor, BrokerRefusal, BrokerUser } from '../ports/hub-adapters.ts';

/** Where a message goes that its sender may not publish: nobody is there, and nothing is kept. */
const nowhere = '$refused';
/** Wrong passwords in a row from one network for one user, and for how long that network is then not listened to. */
const mostWrong = 10;
const deafForMs = 60_000;
/** Wrong ones of all in that time; beyond it only networks are listened to from which somebody came in before. */
const mostWrongInAll = 100;
const mostPlaces = 1000;
/** Further names share one line of the log. */
const mostRefusals = 200;
const mostTopicCharacters = 120;

/** The hub itself, over a listener and with a password that nobody else is told. */
const itself = 'hub';

/**
 * Who may come in, and what each may publish and read. Whoever is on this machine may do everything without a password,
 * where there are no users, or where they are for others alone.
 *
 * Is: what may not be published is acknowledged and goes nowhere, as MQTT 3.1.1 (3.3.5) allows, so that a probe with a
 * wrong topic does not come back again and again; it is counted and told. Is not: a guard against a probe that lies about its own reading.
 */
export function createGatekeeper(
  given: BrokerDoor,
  counts: Record<string, number>,
  monotonicMs: () => number,
  tell: (refusal: BrokerRefusal) => void,
) {
  let door = given;
  let known = new Map(door.users.map((user) => [user.name, user]));
  const all = () => true;
  const anybody: BrokerUser = {
    name: '',
    mayPublish: all,
    maySubscribe: all,
    mayReceive: all,
    isPassword: async () => true,
  };
  const needsNoPassword = () => door.users.length === 0 || door.isOpenToThisMachine;
  const hub: BrokerUser = {
    name: itself,
    mayPublish: all,
    maySubscribe: all,
    mayReceive: all,
    isPassword: async (given) => given === password,
  };
  const password = randomBytes(32).toString('base64url');
  const userOf = new WeakMap<Client, BrokerUser>();
  const wrong = new Map<string, { times: number; sinceMs: number }>();
  const told = new Map<string, number>();
  /** The youngest last. */
  const cameInFrom = new Set<string>();
  let inAll = { times: 0, sinceMs: Number.NEGATIVE_INFINITY };

  function refuse(what: BrokerRefusal['what'], user: string, topic: string): void {
    counts[`refused_${what}`] = (counts[`refused_${what}`] ?? 0) + 1;
    let name = `${what} ${user} ${topic.slice(0, mostTopicCharacters)}`;
    if (!told.has(name) && told.size >= mostRefusals) name = 'other';
    const times = (told.get(name) ?? 0) + 1;
    told.set(name, times);
    // The first of a run, then one line for each power of ten.
    if (Number.isInteger(Math.log10(times))) tell({ what, user, topic: topic.slice(0, mostTopicCharacters), times });
  }

  function sendNowhere(packet: PublishPacket): void {
    packet.topic = nowhere;
    packet.payload = '';
    packet.retain = false;
  }

  function isDeafTo(place: string): boolean {
    const seen = wrong.get(place);
    if (seen === undefined) return false;
    if (monotonicMs() - seen.sinceMs > deafForMs) wrong.delete(place);
    return wrong.has(place) && seen.times >= mostWrong;
  }

  /** Whoever tries from many addresses; the room's own boards keep coming in meanwhile. */
  function isDeafToStrangers(network: string): boolean {
    if (cameInFrom.has(network)) return false;
    return inAll.times >= mostWrongInAll && monotonicMs() - inAll.sinceMs <= deafForMs;
  }

  function rememberRight(network: string): void {
    cameInFrom.delete(network);
    cameInFrom.add(network);
    const [oldest] = cameInFrom;
    if (cameInFrom.size > mostPlaces && oldest !== undefined) cameInFrom.delete(oldest);
  }

  function rememberWrong(place: string): void {
    if (monotonicMs() - inAll.sinceMs > deafForMs) inAll = { times: 0, sinceMs: monotonicMs() };
    inAll.times += 1;
    const seen = wrong.get(place);
    if (seen !== undefined) seen.times += 1;
    else {
      const [oldest] = wrong.keys();
      if (wrong.size >= mostPlaces && oldest !== undefined) wrong.delete(oldest);
      wrong.set(place, { times: 1, sinceMs: monotonicMs() });
    }
  }

  return {
    /** Who may come in from now on. Those who are in have to be asked after with `mayStay`. */
    become(next: BrokerDoor): void {
      door = next;
      known = new Map(next.users.map((user) => [user.name, user]));
    },
    isKnown: (user: string) => (user === '' ? needsNoPassword() : known.has(user)),
    /** Whether somebody who was let in would be again. A user taken out and added again is another one. */
    mayStay(client: Client, isLocal: boolean): boolean {
      const user = userOf.get(client);
      if (user === undefined) return true;
      if (user === hub) return true;
      return user === anybody ? isLocal && needsNoPassword() : known.get(user.name)?.secret === user.secret;
    },
    /** Those who take part in the sharing of places: at least one. */
    count: () => Math.max(1, door.users.length + (door.isOpenToThisMachine ? 1 : 0)),
    ownLogin: { username: itself, password },
    async admit(
      client: Client,
      isOwnListener: boolean,
      { address: from, isLocal }: { address: string; isLocal: boolean },
      given: { username: string | undefined; password: string },
    ): Promise<boolean> {
      if (!isOwnListener && isLocal && needsNoPassword() && !known.has(given.username ?? '')) {
        userOf.set(client, anybody);
        return true;
      }
      const user = isOwnListener ? hub : known.get(given.username ?? '');
      // What a stranger typed as a name may be a password.
      const name = user?.name ?? 'unknown user';
      const network = networkOf(from);
      const place = `${network} ${name}`;
      // For a name that nobody has the same work is done as for one that somebody has: the time must not tell them apart.
      const asked = user ?? door.users[0];
      const isDeaf = !isOwnListener && (isDeafTo(place) || isDeafToStrangers(network));
      const isRight = !isDeaf && (await asked?.isPassword(given.password)) === true;
      // Taken out while the password was looked at.
      const isStillThere = user === hub || (user !== undefined && known.get(user.name)?.secret === user.secret);
      if (user === undefined || !isRight || !isStillThere) {
        rememberWrong(place);
        refuse('login', name, '');
        return false;
      }
      wrong.delete(place);
      if (!isOwnListener) rememberRight(network);
      userOf.set(client, user);
      return true;
    },
    nameOf: (client: Client | undefined) => (client === undefined ? undefined : userOf.get(client)?.name),
    /** Sends a message that may not be published nowhere. */
    checkPublish(client: Client | null, packet: PublishPacket): void {
      if (client === null) return;
      const user = userOf.get(client);
      if (user?.mayPublish(packet.topic) === true) return;
      refuse('publish', user?.name ?? 'unknown user', packet.topic);
      sendNowhere(packet);
    },
    sendNowhere,
    maySubscribe(client: Client, filter: string): boolean {
      const user = userOf.get(client);
      if (user?.maySubscribe(filter) === true) return true;
      refuse('subscribe', user?.name ?? 'unknown user', filter);
      return false;
    },
    mayReceive: (client: Client, topic: string) => userOf.get(client)?.mayReceive(topic) === true,
  };
}

/**
 * Who is taken for one: an IPv4 address, or 64 bits of IPv6, of which one household or machine has all (RFC 4291, 2.5.1; RFC 6177).
 *
 * @param address  as the system gives it
 */
export function networkOf(address: string): string {
  const [bare = ''] = address.split('%');
  if (!isIPv6(bare)) return address;
  const v4 = /^::ffff:(\d+\.\d+\.\d+\.\d+)$/i.exec(bare)?.[1];
  if (v4 !== undefined) return v4;
  // What the two colons leave out is zeros: eight groups in all.
  const [head = '', tail] = bare.split('::');
  const groups = head === '' ? [] : head.split(':');
  if (tail !== undefined) {
    const behind = tail === '' ? [] : tail.split(':');
    while (groups.length + behind.length < 8) groups.push('0');
    groups.push(...behind);
  }
  const short = groups.slice(0, 4).map((group) => group.replace(/^0+(?=.)/, '').toLowerCase());
  return `${short.join(':')}::/64`;
}

export type Gatekeeper = ReturnType<typeof createGatekeeper>;
