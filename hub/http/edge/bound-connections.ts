import type { IncomingMessage, Server } from 'node:http';
import type { Socket } from 'node:net';

type Open = { socket: Socket; request: IncomingMessage | undefined };

/**
 * Keeps at most `most` connections open. One more takes the place of the oldest that waits for its sender: that said nothing
 * so far, is in the midst of its headers or its body, or is kept open after an answer. So connections in great number, or
 * byte by byte, do not keep the keeper's phone out. One that is being answered is never cut off for another; where all are,
 * the new one is closed.
 *
 * @param server  with TLS or without; told before it listens
 * @returns how many are open
 */
export function boundConnections(server: Server, most: number): () => number {
  // By the far end's address and port, since with TLS a request names another socket than the one below.
  const open = new Map<string, Open>();
  server.on('connection', (socket: Socket) => {
    const name = nameOf(socket);
    open.set(name, { socket, request: undefined });
    socket.once('close', () => {
      if (open.get(name)?.socket === socket) open.delete(name);
    });
    if (open.size <= most) return;
    for (const [other, { socket: oldest, request }] of open) {
      if (request?.complete === true) continue;
      open.delete(other);
      oldest.destroy();
      return;
    }
  });
  server.on('request', (request, response) => {
    const connection = open.get(nameOf(request.socket));
    if (connection === undefined) return;
    connection.request = request;
    response.once('close', () => {
      if (connection.request === request) connection.request = undefined;
    });
  });
  return () => open.size;
}

function nameOf({ remoteAddress, remotePort }: Socket): string {
  return `${remoteAddress} ${remotePort}`;
}
