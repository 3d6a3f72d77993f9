import { rmSync } from 'node:fs';
import { join, resolve } from 'node:path';
import type { LineTried, OwnBroker } from '#adapters/ports/hub-adapters.ts';
import { isLoopback } from '../../model/config/checks-of-access.ts';
import type { Config } from '../../model/config/schema.ts';
import { topicsBelow } from '../../model/config/topics.ts';
import { Refused } from '../../model/refusals/refused.ts';
import { type BrokerChange, withBrokerChange } from '../../model/settings/broker-change.ts';
import type { DifferenceLine } from '../../model/settings/config-change.ts';
import type { ConfigChanges } from '../../model/settings/config-changes.ts';
import { writePrivateFile } from '../access/private-file.ts';
import { hashSecret } from '../access/secret-hash.ts';
import { brokerHosts } from './own-addresses.ts';
import { phonePassword } from './phone-password.ts';

/** All of the home network that speaks IPv4. IPv6 is left out: there a router may let the whole internet in. */
const homeNetwork = '0.0.0.0';
const thisMachine = '127.0.0.1';

export type PhonesNow = {
  is: 'inside' | 'outside';
  /** The broker answers other machines. */
  isOpen: boolean;
  hosts: string[];
  port: number;
  isTls: boolean;
  topic: string;
  phones: { name: string; isConnected: boolean; isSubscribed: boolean }[];
  /** Users that are boards. */
  boards: string[];
};

/** The password is here and nowhere else: the hub keeps its hash. */
export type PhoneAdded = {
  password: string;
  difference: DifferenceLine[];
  warnings: string[];
  trouble: string | undefined;
};

export type PhoneAccess = {
  now(): PhonesNow;
  /** @throws Refused  broker_closed, unless `open` says that it may be opened */
  add(name: string, open: boolean, by: string): Promise<PhoneAdded>;
  /** `isClosed`: the last user went, so the broker answers this machine alone again. */
  remove(name: string, by: string): Promise<{ isClosed: boolean }>;
  /** @throws Refused  boards_would_lose, unless `evenBoards` */
  close(evenBoards: boolean, by: string): Promise<void>;
  /** Sends a line to this phone alone. At an outside broker to all, and nobody knows whether it came. */
  tryLine(name: string): Promise<LineTried | 'sent_outside'>;
};

export type PhoneAccessParts = {
  config: Config;
  /** Undefined where the hub was started without a file. */
  file: ConfigChanges | undefined;
  broker(): OwnBroker | undefined;
  reopen(config: Config): Promise<void>;
  publish(topic: string, line: string): Promise<unknown>;
  addresses(): string[];
  nowMs(): number;
};

/**
 * Where phones come to be users of the hub's own broker.
 *
 * Is: the configuration file stays the truth; it is written first and the running broker follows it, one change after another.
 * The broker is opened only together with a user who has a password; those on this machine go on without one where they
 * needed none before. Is not: able to make a user at an outside broker.
 */
export function createPhoneAccess(parts: PhoneAccessParts): PhoneAccess {
  let { config } = parts;
  let last: Promise<unknown> = Promise.resolve();
  const { phone: topic } = topicsBelow(config.mqtt.prefix);
  const isOpen = () => !isLoopback(config.broker.host);
  const isOutside = config.mqtt.url !== undefined;

  function inTurn<T>(work: () => Promise<T>): Promise<T> {
    const mine = last.then(work);
    last = mine.catch(() => {});
    return mine;
  }

  /** @throws Refused  where there is nothing to change */
  function fileOrRefuse(): ConfigChanges {
    if (isOutside) throw new Refused('not_known', 'the broker is outside the hub: its users are made there');
    if (parts.file === undefined)
      throw new Refused(
        'not_known',
        'the hub runs without a configuration file, as the demo does: it cannot add a phone',
      );
    return parts.file;
  }

  async function change(change: BrokerChange, words: string, by: string) {
    const edited = fileOrRefuse().edit((text) => withBrokerChange(text, change), words, by, parts.nowMs());
    config = edited.config;
    await parts.reopen(config);
    return edited;
  }

  const phoneFile = (name: string) => resolve(join(config.data_dir, 'phones', name));
  const phones = () => config.broker.users.filter(({ role }) => role === 'phone');
  const closed = (): BrokerChange => (isOpen() ? { host: thisMachine } : {});

  function phoneOrRefuse(name: string): void {
    if (phones().some((phone) => phone.name === name)) return;
    const known = phones().map((phone) => phone.name);
    throw new Refused('unknown_phone', `No phone "${name}". You have: ${known.join(', ') || 'none'}`);
  }

  return {
    now() {
      const broker = parts.broker();
      const outside = isOutside ? new URL(config.mqtt.url ?? '') : undefined;
      const isTls =
        outside === undefined ? config.broker.cert_file !== undefined : /^(mqtts|wss):$/.test(outside.protocol);
      return {
        is: isOutside ? 'outside' : 'inside',
        isOpen: isOutside || isOpen(),
        hosts: outside === undefined ? brokerHosts(config.broker, parts.addresses()) : [outside.hostname],
        port:
          outside === undefined ? (broker?.port ?? config.broker.port) : Number(outside.port || (isTls ? 8883 : 1883)),
        isTls,
        topic,
        phones: isOutside
          ? []
          : phones().map(({ name }) => ({
              name,
              ...(broker?.connected(name, topic) ?? { isConnected: false, isSubscribed: false }),
            })),
        boards: config.broker.users.filter(({ role }) => role === 'probe').map(({ name }) => name),
      };
    },
    add: (name, open, by) =>
      inTurn(async () => {
        fileOrRefuse();
        if (config.broker.users.some((user) => user.name === name))
          throw new Refused(
            'name_taken',
            `"${name}" is a user of the broker already; take another name, or remove it first`,
          );
        if (!isOpen() && !open)
          throw new Refused(
            'broker_closed',
            'a phone reaches it once it is opened to the home network; no one gets in from there without a password',
          );
        const password = phonePassword();
        const passwordFile = phoneFile(name);
        writePrivateFile(passwordFile, `${await hashSecret(password)}\n`);
        try {
          const { difference, warnings } = await change(
            {
              add: { name, passwordFile },
              ...(isOpen() ? {} : { host: homeNetwork }),
              // Until now nobody on this machine needed one.
              ...(config.broker.users.length === 0 ? { thisMachineWithoutPassword: true } : {}),
            },
            `broker: phone ${name} added${isOpen() ? '' : ', opened to the home network'}`,
            by,
          );
          const state = parts.broker()?.state();
          return { password, difference, warnings, trouble: state?.isUp === true ? undefined : state?.lastError };
        } catch (error) {
          if (!config.broker.users.some((user) => user.name === name)) rmSync(passwordFile, { force: true });
          throw error;
        }
      }),
    remove: (name, by) =>
      inTurn(async () => {
        fileOrRefuse();
        phoneOrRefuse(name);
        const kept = config.broker.users.find((user) => user.name === name);
        const isLast = config.broker.users.length === 1;
        const isClosed = isLast && isOpen();
        await change(
          { remove: name, ...(isLast ? { ...closed(), thisMachineWithoutPassword: false } : {}) },
          `broker: phone ${name} removed${isClosed ? ', closed to the home network' : ''}`,
          by,
        );
        // One that a person wrote elsewhere is that person's.
        if (kept?.password_file === phoneFile(name)) rmSync(phoneFile(name), { force: true });
        return { isClosed };
      }),
    close: (evenBoards, by) =>
      inTurn(async () => {
        fileOrRefuse();
        const boards = config.broker.users.filter(({ role }) => role === 'probe').map(({ name }) => name);
        if (isOpen() && boards.length > 0 && !evenBoards)
          throw new Refused(
            'boards_would_lose',
            `these boards may come in from the home network too: ${boards.join(', ')}`,
          );
        if (isOpen()) await change(closed(), 'broker: closed to the home network', by);
      }),
    async tryLine(name) {
      const line = `Test line for ${name} from ${config.site.name}: this phone gets the alarms.`;
      if (isOutside) {
        await parts.publish(topic, line);
        return 'sent_outside';
      }
      phoneOrRefuse(name);
      return (await parts.broker()?.tryLine(name, topic, line)) ?? 'not_connected';
    },
  };
}
