import { createServer, type Server, type Socket } from 'node:net';
import { createServer as createTlsServer } from 'node:tls';

export type TlsFiles = { cert: Buffer; key: Buffer };

const handshakeWithinMs = 10_000;

/**
 * A server for the broker's clients, over TLS when there is a certificate. Its sockets take `writeBytes` before they say
 * that they are full, which the broker would wait for. All sockets are in `sockets` as long as they are open, also those
 * whose handshake is not done.
 */
export function createListener(
  tls: TlsFiles | undefined,
  writeBytes: number,
  sockets: Set<Socket>,
  welcome: (socket: Socket) => void,
  onBadHandshake: () => void = () => {},
): Server {
  const track = (socket: Socket) => {
    sockets.add(socket);
    socket.once('close', () => sockets.delete(socket));
  };
  const options = { noDelay: true, highWaterMark: writeBytes };
  if (tls === undefined) {
    return createServer(options, (socket) => {
      track(socket);
      welcome(socket);
    });
  }
  const secure = createTlsServer(
    { ...options, ...tls, minVersion: 'TLSv1.2', handshakeTimeout: handshakeWithinMs },
    (socket) => {
      // The option is for the socket below; the one above has no other way to be told.
      (socket as unknown as { _writableState: { highWaterMark: number } })._writableState.highWaterMark = writeBytes;
      welcome(socket);
    },
  );
  secure.on('connection', track);
  secure.on('tlsClientError', (_error, socket) => {
    onBadHandshake();
    socket.destroy();
  });
  return secure;
}

export function destroyAll(sockets: Iterable<Socket>): void {
  for (const socket of sockets) socket.destroy();
}

/** Why it cannot listen, with what to do. */
export function whyDeaf(error: Error & { code?: string }, { host, port }: { host: string; port: number }): string {
  return error.code === 'EADDRINUSE'
    ? `port ${port} on ${host} is taken by another program, perhaps another broker: stop that one, set another broker.port, or name it in mqtt.url`
    : error.message;
}
