import type { FastifyRequest } from 'fastify';
import { isLoopback } from '../../model/config/checks-of-access.ts';

/** The host of `name:port` or `[address]:port`, in small letters and without brackets. */
function hostOf(authority: string): string {
  return authority
    .toLowerCase()
    .replace(/:\d{1,5}$/, '')
    .replace(/^\[(.*)\]$/, '$1');
}

/** An address of version 4 that came over a socket of version 6. */
function plain(address: string | undefined): string {
  return (address ?? '').toLowerCase().replace(/^::ffff:(?=\d+\.)/, '');
}

/**
 * Whether a request was sent to this hub by a name of its own: this machine's, one of the configuration, or the very
 * address at which it arrived. A name that somebody pointed here (DNS rebinding) is none of them, so that a page of theirs
 * is not taken for ours by the browser.
 */
export function isOwnName(authority: string | undefined, localAddress: string | undefined, names: readonly string[]) {
  if (authority === undefined || authority === '') return false;
  const host = hostOf(authority);
  return isLoopback(host) || names.includes(host) || (host !== '' && host === plain(localAddress));
}

/**
 * Whether a browser sent this for a page of this hub, or no browser sent it. Another site's page shows by its Origin, and
 * with `Sec-Fetch-Site` by anything but `same-origin`, which is asked of whatever changes something.
 *
 * @source Fetch Metadata Request Headers (W3C); RFC 6454, The web origin concept
 */
export function isOfOwnPage(request: Pick<FastifyRequest, 'headers' | 'method'>): boolean {
  const { origin, host } = request.headers;
  if (origin !== undefined) {
    // By name and port: in front of a proxy with TLS the scheme differs.
    const authority = /^https?:\/\/([^/]+)$/i.exec(origin)?.[1]?.toLowerCase();
    if (authority === undefined || authority !== host?.toLowerCase()) return false;
  }
  const site = request.headers['sec-fetch-site'];
  return isSafe(request.method) || site === undefined || site === 'same-origin' || site === 'none';
}

/** Whether a browser said where this comes from, as every present one does for what changes something. */
export function saysWhereFrom(request: Pick<FastifyRequest, 'headers'>): boolean {
  return request.headers.origin !== undefined || request.headers['sec-fetch-site'] !== undefined;
}

/** Methods that change nothing. @source RFC 9110, 9.2.1 */
export function isSafe(method: string): boolean {
  return method === 'GET' || method === 'HEAD' || method === 'OPTIONS';
}
