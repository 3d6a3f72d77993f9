import { createHash, timingSafeEqual } from 'node:crypto';
import type { BrokerUser } from '#adapters/ports/hub-adapters.ts';
import type { Config } from '../../model/config/schema.ts';
import { inboundOf, topicsBelow } from '../../model/config/topics.ts';
import { createKnownLogins } from './known-logins.ts';
import { derivationQueue, isHash, matchesHash } from './secret-hash.ts';

/** The boards of a room come back together after a power cut: each waits its turn, and none is turned away. */
const ofTheBroker = derivationQueue(256);

export type ReadPassword = (environmentName: string | undefined, file: string | undefined) => string | undefined;

/**
 * Who may come in to the hub's own broker, by the configuration. A probe publishes to the topics of the configured probes
 * and reads nothing. A phone reads what the hub says below its prefix, and publishes commands and entries.
 */
export function brokerUsersOf(config: Config, readPassword: ReadPassword): BrokerUser[] {
  const inbound = new Set(inboundOf(topicsBelow(config.mqtt.prefix)));
  const readings = new Set(config.probes.flatMap(({ mqtt }) => (mqtt === undefined ? [] : [mqtt.topic])));
  const ours = `${config.mqtt.prefix}/`;
  const never = () => false;
  const rights = {
    probe: { mayPublish: (topic: string) => readings.has(topic), maySubscribe: never, mayReceive: never },
    phone: {
      mayPublish: (topic: string) => inbound.has(topic),
      maySubscribe: (filter: string) => filter.startsWith(ours),
      // A filter such as brinekeep/# reaches further than what is said to phones.
      mayReceive: (topic: string) => topic.startsWith(ours) && !inbound.has(topic),
    },
  };
  const users = config.broker.users.map(({ name, role, password_env, password_file }) => {
    const stored = readPassword(password_env, password_file);
    return { name, ...rights[role], stored, secret: stored };
  });
  const anyHash = users.find(({ stored }) => stored !== undefined && isHash(stored))?.stored;
  const known = createKnownLogins(() => performance.now());
  return users.map(({ stored, ...user }) => ({
    ...user,
    async isPassword(given) {
      if (known.isKnown(user.name, given)) return true;
      const isRight = await isPassword(given, stored, anyHash);
      if (isRight) known.remember(user.name, given);
      return isRight;
    },
  }));
}

/** Where one password is hashed, each check derives a key once: the time must not tell which user was asked for. */
async function isPassword(given: string, stored: string | undefined, anyHash: string | undefined): Promise<boolean> {
  if (stored !== undefined && isHash(stored)) return matchesHash(given, stored, ofTheBroker);
  if (anyHash !== undefined) await matchesHash(given, anyHash, ofTheBroker);
  const isSame = timingSafeEqual(digest(given), digest(stored ?? ''));
  return isSame && stored !== undefined && stored !== '';
}

/** Of equal length, so that the time of comparing says nothing about the password's. */
function digest(text: string): Buffer {
  return createHash('sha256').update(text).digest();
}
