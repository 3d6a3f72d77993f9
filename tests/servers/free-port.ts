import { createServer } from 'node:net';

/**
 * Below the ports that the kernel gives to whoever asks for any (32768 and on, unless it was told otherwise): between this
 * answer and its use no connection or other server gets the same one by chance.
 */
const lowest = 15_000;
const highest = 32_000;
/** Of this process: the first may not be in use yet when the next is asked for. */
const given = new Set<number>();

function isFree(port: number): Promise<boolean> {
  return new Promise((resolve) => {
    const server = createServer();
    server.once('error', () => resolve(false));
    server.listen(port, '127.0.0.1', () => server.close(() => resolve(true)));
  });
}

/** A TCP port on 127.0.0.1 that nobody listened on a moment ago, never the same twice. */
export async function freePort(): Promise<number> {
  for (let tries = 0; tries < 100; tries += 1) {
    const port = lowest + Math.floor(Math.random() * (highest - lowest));
    if (given.has(port)) continue;
    given.add(port);
    if (await isFree(port)) return port;
  }
  throw new Error(`no TCP port from ${lowest} to ${highest} is free`);
}
