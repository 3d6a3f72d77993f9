import { isIP } from 'node:net';
import { type ConfigPath, type Finding, showFound } from './config-problem.ts';
import type { CrossFindings } from './known-ids.ts';
import { type Environment, type ReadFile, readSecret } from './secrets.ts';
import type { SoundParts } from './sound-parts.ts';

/** True for an address or name that only this machine itself can reach. */
export function isLoopback(host: string): boolean {
  const bare = host.replace(/^\[|\]$/g, '').toLowerCase();
  return bare === 'localhost' || bare === '::1' || (isIP(bare) === 4 && bare.startsWith('127.'));
}

/** Who may come in: certificates that can be read, users with a password each, no open broker on the network. */
export function accessFindings(config: SoundParts, env: Environment, readFile: ReadFile): CrossFindings {
  return {
    problems: [
      ...pairFindings(['http'], config.http, readFile),
      ...pairFindings(['broker'], config.broker, readFile),
      ...userFindings(config, env, readFile),
      ...openBrokerFindings(config),
    ],
    warnings: wideWarnings(config),
  };
}

type PemPair = { cert_file?: string | undefined; key_file?: string | undefined };

function pairFindings(block: ConfigPath, pair: PemPair | undefined, readFile: ReadFile): Finding[] {
  if (pair === undefined) return [];
  const findings: Finding[] = [];
  for (const [key, other] of [['cert_file', 'key_file'] as const, ['key_file', 'cert_file'] as const]) {
    const file = pair[key];
    if (file === undefined) continue;
    if (pair[other] === undefined) {
      findings.push({ path: [...block, key], isAboutKey: true, found: `${key} alone`, need: `${other} beside it` });
    }
    if (readSecret({ file }, {}, readFile).kind === 'value') continue;
    const found = `${showFound(file)}, which cannot be read or is empty`;
    findings.push({ path: [...block, key], found, need: 'a PEM file that the hub may read' });
  }
  return findings;
}

function userFindings(config: SoundParts, env: Environment, readFile: ReadFile): Finding[] {
  const names = new Set<string>();
  return (config.broker?.users ?? []).flatMap((user, index): Finding[] => {
    if (user === undefined) return [];
    const at: ConfigPath = ['broker', 'users', index];
    const findings: Finding[] = [];
    if (user.name !== undefined && names.has(user.name)) {
      findings.push({ path: [...at, 'name'], found: showFound(user.name), need: 'a name of its own for each user' });
    }
    if (user.name !== undefined) names.add(user.name);
    if (user.password_env !== undefined && user.password_file !== undefined) {
      const need = 'only one of password_env and password_file';
      return [...findings, { path: [...at, 'password_file'], isAboutKey: true, found: 'both', need }];
    }
    const result = readSecret({ environmentName: user.password_env, file: user.password_file }, env, readFile);
    if (result.kind === 'none') {
      const hint = 'A user without a password would let everybody in.';
      findings.push({ path: at, found: 'no password', need: 'password_file: PATH or password_env: NAME', hint });
    } else if (result.kind === 'unset') {
      const isName = /^[A-Z_][A-Z0-9_]*$/.test(result.environmentName);
      const found = isName ? `${result.environmentName}, which is not set` : 'what is no name of a variable (hidden)';
      const need = 'the name of an environment variable that holds the password';
      findings.push({ path: [...at, 'password_env'], found, need });
    } else if (result.kind !== 'value') {
      const why = result.kind === 'empty' ? 'is empty' : 'cannot be read';
      const found = `${showFound(result.file)}, which ${why}`;
      findings.push({ path: [...at, 'password_file'], found, need: 'a file that holds the password' });
    }
    return findings;
  });
}

function openBrokerFindings(config: SoundParts): Finding[] {
  const host = config.broker?.host;
  if (config.mqtt?.url !== undefined || host === undefined || isLoopback(host)) return [];
  if ((config.broker?.users ?? []).length > 0) return [];
  const need =
    '127.0.0.1, or broker.users with a password each: without them anybody on the network could give commands';
  const hint = 'Write users: [{name: board, role: probe, password_file: PATH}] below broker.';
  return [{ path: ['broker', 'host'], found: showFound(host), need, hint }];
}

function wideWarnings(config: SoundParts): Finding[] {
  const { http, broker } = config;
  const warnings: Finding[] = [];
  const isWide = (host: string | undefined) => host !== undefined && !isLoopback(host);
  if (isWide(http?.host) && http?.cert_file === undefined) {
    const need = 'cert_file and key_file, or a way that is safe itself (VPN, SSH tunnel)';
    warnings.push({ path: ['http', 'host'], found: 'a page on the network without TLS', need });
  }
  if (config.mqtt?.url === undefined && isWide(broker?.host) && broker?.cert_file === undefined) {
    const need = 'cert_file and key_file, else whoever hears the Wi-Fi reads the passwords';
    warnings.push({ path: ['broker', 'host'], found: 'a broker on the network without TLS', need });
  }
  return warnings;
}
