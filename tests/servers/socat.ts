import { existsSync, mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { type ServerProcess, startProcess, waitUntil } from './server-process.ts';

export type PtyPair = {
  /** Two ends of one serial cable: give one to the hub, write to the other as the probe would. */
  a: string;
  b: string;
  /** Pulls the cable: both devices vanish, the open end sees a disconnect. */
  unplug(): Promise<void>;
  /** Both devices return under the same names. */
  replug(): Promise<void>;
  /** Ends socat and removes the directory. */
  stop(): Promise<void>;
};

/** A pair of pseudo terminals joined by a real socat process, ready when this resolves. */
export async function startPtyPair(): Promise<PtyPair> {
  const dir = mkdtempSync(join(tmpdir(), 'brinekeep-pty-'));
  const a = join(dir, 'ttyA');
  const b = join(dir, 'ttyB');
  let running: ServerProcess | undefined;

  async function replug(): Promise<void> {
    const socat = startProcess('socat', [`pty,raw,echo=0,link=${a}`, `pty,raw,echo=0,link=${b}`]);
    running = socat;
    await waitUntil('both pseudo terminals exist', () => existsSync(a) && existsSync(b), { explain: socat.log });
  }

  async function unplug(): Promise<void> {
    await running?.end('SIGTERM');
    rmSync(a, { force: true });
    rmSync(b, { force: true });
  }

  await replug();
  return {
    a,
    b,
    unplug,
    replug,
    async stop() {
      await unplug();
      rmSync(dir, { recursive: true, force: true });
    },
  };
}
