import type {
  BrokerOwnLink,
  LinkChoice,
  MirrorChoice,
  SerialChoice,
  Subscription,
} from '#adapters/ports/hub-adapters.ts';
import { defined } from '#rules/plain-data/defined.ts';
import type { Config, SerialPortConfig } from './schema.ts';
import { inboundOf, topicsBelow } from './topics.ts';

/** How the configuration's words become what each adapter is asked for. Secrets are read here and go nowhere else. */

const separators: Record<SerialPortConfig['separator'], SerialChoice['separator']> = {
  ',': ',',
  ';': ';',
  tab: '\t',
  space: ' ',
};

export type Secrets = { env: Record<string, string | undefined>; readFile(path: string): string };

export function secretOf(secrets: Secrets, env: string | undefined, file: string | undefined): string | undefined {
  if (env !== undefined) return secrets.env[env];
  if (file !== undefined) return secrets.readFile(file).trimEnd();
  return undefined;
}

export function serialChoice(port: SerialPortConfig): SerialChoice {
  return {
    id: port.id,
    path: port.path,
    baud: port.baud,
    dataBits: port.data_bits,
    parity: port.parity,
    stopBits: port.stop_bits,
    lineEnd: port.line_end,
    format: port.format,
    columns: port.columns ?? [],
    separator: separators[port.separator],
  };
}

/** @param own  the way in to the hub's own broker; undefined with an outside one */
export function linkChoice(config: Config, own: BrokerOwnLink | undefined, secrets: Secrets): LinkChoice {
  const { mqtt } = config;
  const login = own ?? {
    username: mqtt.username,
    password: secretOf(secrets, mqtt.password_env, mqtt.password_file),
  };
  return {
    url: mqtt.url ?? `mqtt://127.0.0.1:${own?.port}`,
    protocol: mqtt.protocol,
    // Stable, so that the broker keeps the session of a hub that is away; two hubs on one broker differ by prefix.
    clientId: mqtt.client_id ?? `brinekeep-${mqtt.prefix.replaceAll('/', '-')}`.slice(0, 60),
    ...defined({
      username: login.username,
      password: login.password,
      caFile: mqtt.ca_file,
      certFile: mqtt.cert_file,
      keyFile: mqtt.key_file,
    }),
    prefix: mqtt.prefix,
    commandTopics: inboundOf(topicsBelow(mqtt.prefix)),
  };
}

export function subscriptionsOf(config: Config): Subscription[] {
  return config.probes.flatMap(({ mqtt }) =>
    mqtt === undefined
      ? []
      : [
          {
            topic: mqtt.topic,
            format: mqtt.format,
            channel: mqtt.channel,
            ...defined({ timePath: mqtt.time_path }),
          },
        ],
  );
}

export function mirrorChoice(influx: NonNullable<Config['influx']>, secrets: Secrets): MirrorChoice {
  const token = secretOf(secrets, influx.token_env, influx.token_file);
  return {
    url: influx.url,
    api: influx.api,
    org: influx.org,
    bucket: influx.bucket ?? '',
    database: influx.database ?? '',
    ...defined({ username: influx.username, token }),
    ...(influx.resend_after_seconds === undefined ? {} : { resendAfterMs: influx.resend_after_seconds * 1000 }),
  };
}
