import type { AddressInfo } from 'node:net';
import { isLoopback } from '../../model/config/checks-of-access.ts';
import type { Config } from '../../model/config/schema.ts';

export type Listening = { host: string; refused?: string };

/** Where the page may listen: on the network only behind a passphrase, else on this machine alone. */
export function whereToListen(host: string, isNeeded: boolean): Listening {
  if (isNeeded || isLoopback(host)) return { host };
  const refused =
    `The page is not opened on ${host}, since no passphrase is set; it answers this machine alone. ` +
    'Set one with: brinekeep passphrase CONFIG, then restart the hub.';
  return { host: '127.0.0.1', refused };
}

/** An address at which a person on this machine, or a name of the configuration, opens the page. */
export function pageUrl(http: Config['http'], host: string, bound: AddressInfo | string | null): string {
  const port = typeof bound === 'object' && bound !== null ? bound.port : http.port;
  const isEvery = host === '0.0.0.0' || host === '::';
  const name = isEvery ? (http.names[0] ?? '127.0.0.1') : host;
  return `${http.cert_file === undefined ? 'http' : 'https'}://${name.includes(':') ? `[${name}]` : name}:${port}`;
}

/** Where a verb on the same machine finds the hub. */
export function hubAddress(http: Config['http']): { host: string; port: number } {
  const isEvery = http.host === '0.0.0.0' || http.host === '::';
  return { host: isEvery ? '127.0.0.1' : http.host, port: http.port };
}
