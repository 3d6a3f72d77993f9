import type { Socket } from 'node:net';

/**
 * The places of a broker's clients. Where all are taken, one more takes that of the oldest who has not been let in so far, so
 * that connections in great number that never say who they are do not keep a probe out. Those who are in stay: where all
 * places are theirs, the new one is closed.
 *
 * No user of several takes all: the others keep some.
 *
 * @param most        from 1
 * @param mostOfUser  of those who are let in
 * @param refused     called with each connection that is closed for want of room
 */
export function createPlaces(most: number, mostOfUser: () => number, refused: (user: string | undefined) => void) {
  const ofUser = new Map<string, Set<string>>();
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
        refused(undefined);
        if (oldest === socket) return;
      }
      strangers.set(name, socket);
      socket.once('close', () => leave(socket, name));
    },
    /** It has been let in; false where the user has all the places that may be his. */
    keep(connection: Socket, user: string): boolean {
      const name = nameOf(connection);
      const own = ofUser.get(user) ?? new Set<string>();
      if (own.size >= mostOfUser()) {
        refused(user);
        return false;
      }
      ofUser.set(user, own.add(name));
      connection.once('close', () => own.delete(name));
      strangers.delete(name);
      return true;
    },
  };
}

function nameOf({ remoteAddress, remotePort }: Pick<Socket, 'remoteAddress' | 'remotePort'>): string {
  return `${remoteAddress} ${remotePort}`;
}

export type Places = ReturnType<typeof createPlaces>;
