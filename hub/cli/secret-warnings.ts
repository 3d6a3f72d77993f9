import { readFileSync, statSync } from 'node:fs';
import type { Config } from '../model/config/schema.ts';
import { type Environment, readSecret } from '../model/config/secrets.ts';
import { accessFileOf } from '../outside/access/access-file.ts';
import { complaintAboutPassphrase } from '../outside/access/passphrase.ts';
import { isHash } from '../outside/access/secret-hash.ts';

/**
 * What is weak about the secrets that a configuration names: passwords of the hub's own broker that are soon guessed, and
 * files that every account of the machine may read or change. Never a part of a secret.
 *
 * Is not: able to tell how good a password is of which only the hash is kept.
 */
export function secretWarnings(config: Config, env: Environment): string[] {
  return [...weakPasswords(config, env), ...secretFiles(config).flatMap(openToOthers)];
}

function weakPasswords(config: Config, env: Environment): string[] {
  // Of an outside broker the users are its own.
  if (config.mqtt.url !== undefined) return [];
  return config.broker.users.flatMap(({ name, password_env, password_file }) => {
    const place = { environmentName: password_env, file: password_file };
    const found = readSecret(place, env, (path) => readFileSync(path, 'utf8'));
    if (found.kind !== 'value' || isHash(found.secret)) return [];
    const complaint = complaintAboutPassphrase(found.secret);
    return complaint === undefined ? [] : [`broker user ${name}: a weak password: ${complaint}`];
  });
}

function secretFiles({ http, broker, mqtt, influx, ...config }: Config): string[] {
  const named = [
    ...[http.key_file, broker.key_file, mqtt.key_file, mqtt.password_file, influx?.token_file],
    ...broker.users.map((user) => user.password_file),
    accessFileOf(config),
  ];
  return [...new Set(named.filter((path) => path !== undefined))];
}

/** A group of its own is a good way to let the hub alone read it: only the rights of all others count. */
function openToOthers(path: string): string[] {
  let mode: number;
  try {
    ({ mode } = statSync(path));
  } catch {
    // There is none yet, or whoever checks may not look.
    return [];
  }
  const may = [...((mode & 0o004) === 0 ? [] : ['read']), ...((mode & 0o002) === 0 ? [] : ['change'])];
  if (may.length === 0) return [];
  return [`${path}: every account of this machine may ${may.join(' and ')} this secret: chmod o= ${path}`];
}
