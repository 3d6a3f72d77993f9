import { createServer } from 'node:net';

/** A TCP port on 127.0.0.1 that nobody listened on a moment ago. Take it at once: another process may come first. */
export function freePort(): Promise<number> {
  return new Promise((resolve, reject) => {
    const server = createServer();
    server.once('error', reject);
    server.listen(0, '127.0.0.1', () => {
      const address = server.address();
      server.close(() => {
        if (address === null || typeof address === 'string') reject(new Error('no TCP port was given'));
        else resolve(address.port);
      });
    });
  });
}
