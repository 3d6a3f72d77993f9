import type { Socket } from 'node:net';

const loopback = /^(::ffff:)?127\.|^::1$/;

/**
 * True for a connection whose two ends are loopback addresses of this machine: the kernel takes in no packet for such an
 * address from a network (RFC 1122, 3.2.1.3 g). Whoever comes by another address of the same machine is a stranger.
 *
 * Is not: able to see behind a program on this machine that hands on connections from elsewhere, such as a tunnel.
 */
export function isOfThisMachine({ localAddress = '', remoteAddress = '' }: Socket): boolean {
  return loopback.test(localAddress) && loopback.test(remoteAddress);
}
