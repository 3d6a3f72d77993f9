import type { Socket } from 'node:net';

/**
 * The places of a broker's clients. Where all are taken, one more takes that of the oldest who has not been let in so far, so
 * that connections in great number that never say who they are do not keep a probe out. Those who are in stay: where all
 * places are theirs, the new one is closed.
 *
 * @param most    from 1
 * @param counts  `refused_full` grows with each connection that is closed for want of room
 */
export function createPlaces(most: number, counts: Record<string, number>) {
  const open = new Set<Socket>();
  // By the far end's address and port, since with TLS the one who is let in comes by another socket than the one below.
  const strangers = new Map<string, Socket>();

  function leave(socket: Socket, name: string): void {
    open.delete(socket);
    if (strangers.get(name) === socket) strangers.delete(name);
  }

  return {
    /** A new connection; it is destroyed when there is no place for it. */
    take(socket: Socket): void {
      const name = nameOf(socket);
      open.add(socket);
      if (open.size > most) {
        const [[oldestName, oldest] = [name, socket]] = strangers;
        leave(oldest, oldestName);
        oldest.destroy();
        counts['refused_full'] = (counts['refused_full'] ?? 0) + 1;
        if (oldest === socket) return;
      }
      strangers.set(name, socket);
      socket.once('close', () => leave(socket, name));
    },
    /** It has been let in. */
    keep(connection: Pick<Socket, 'remoteAddress' | 'remotePort'>): void {
      strangers.delete(nameOf(connection));
    },
  };
}

function nameOf({ remoteAddress, remotePort }: Pick<Socket, 'remoteAddress' | 'remotePort'>): string {
  return `${remoteAddress} ${remotePort}`;
}
