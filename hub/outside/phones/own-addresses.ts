import { X509Certificate } from 'node:crypto';
import { readFileSync } from 'node:fs';
import { networkInterfaces } from 'node:os';
import { isLoopback } from '../../model/config/checks-of-access.ts';
import type { Config } from '../../model/config/schema.ts';

/** Home networks first; 172.16.0.0/12 last of them, where containers have theirs. @source RFC 1918, 3 */
const likely = [/^192\.168\./, /^10\./, /^172\.(1[6-9]|2\d|3[01])\./];

const rankOf = (address: string) => {
  const rank = likely.findIndex((each) => each.test(address));
  return rank === -1 ? likely.length : rank;
};

/** Addresses of this machine in its networks, the likeliest for a phone first. */
export function ownAddresses(): string[] {
  return Object.values(networkInterfaces())
    .flatMap((each) => each ?? [])
    .filter(({ family, internal }) => family === 'IPv4' && !internal)
    .map(({ address }) => address)
    .sort((one, other) => rankOf(one) - rankOf(other));
}

/**
 * What a phone may call the hub's own broker: with TLS the names of its certificate, which the phone holds it against, else
 * the address that it listens at, or each of the machine's.
 */
export function brokerHosts({ host, cert_file }: Config['broker'], addresses: readonly string[]): string[] {
  const names = cert_file === undefined ? [] : namesOf(cert_file);
  if (names.length > 0) return names;
  return isLoopback(host) || host === '0.0.0.0' || host === '::' ? [...addresses] : [host];
}

function namesOf(certificate: string): string[] {
  const { subjectAltName = '' } = new X509Certificate(readFileSync(certificate));
  return [...subjectAltName.matchAll(/(?:DNS|IP Address):([^,\s*]+)/g)].map(([, name = '']) => name);
}
