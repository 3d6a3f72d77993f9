import { type ChildProcess, spawn } from 'node:child_process';
import { connect } from 'node:net';

export type ServerProcess = {
  child: ChildProcess;
  /** What it wrote so far to both outputs, the last 20,000 characters unless more was asked for. */
  log(): string;
  isRunning(): boolean;
  /** Sends the signal to this very child and waits until it is gone. SIGKILL follows when 5 s did not do. */
  end(signal: NodeJS.Signals): Promise<void>;
};

/** Of util-linux; runs what follows it, in the same process. */
const endsWithItsParent = ['setpriv', '--pdeathsig', 'KILL'] as const;

/** Starts a real server in the foreground. It ends with the test, so that none is left behind. */
export function startProcess(
  command: string,
  args: string[],
  mostCharacters = 20_000,
  env: Record<string, string> = {},
): ServerProcess {
  // The kernel ends it when the thread that started it ends: a killed test worker runs no exit handler.
  const child = spawn(endsWithItsParent[0], [...endsWithItsParent.slice(1), command, ...args], {
    stdio: ['ignore', 'pipe', 'pipe'],
    env: { ...process.env, ...env },
  });
  let log = '';
  const keep = (chunk: Buffer) => {
    log = (log + chunk.toString('latin1')).slice(-mostCharacters);
  };
  child.stdout.on('data', keep);
  child.stderr.on('data', keep);
  const gone = new Promise<void>((resolve) => {
    child.once('exit', () => resolve());
    child.once('error', (error) => {
      log += String(error);
      resolve();
    });
  });
  const isRunning = () => child.pid !== undefined && child.exitCode === null && child.signalCode === null;
  return {
    child,
    log: () => log,
    isRunning,
    async end(signal) {
      if (!isRunning()) return;
      child.kill(signal);
      const last = setTimeout(() => child.kill('SIGKILL'), 5_000);
      await gone;
      clearTimeout(last);
    },
  };
}

/** How many times as long as usual is waited before a test is given up, for runs on a machine that does much else. */
export const patience = () => Number(process.env['TEST_PATIENCE'] ?? 1);

/**
 * Asks until the answer is true. Tests wait for a state, never for a time.
 * @throws after `withinMs` with the name of what was waited for, and `explain()` when given
 */
export async function waitUntil(
  what: string,
  isSo: () => boolean | Promise<boolean>,
  options: { withinMs?: number; explain?: () => string } = {},
): Promise<void> {
  const end = performance.now() + (options.withinMs ?? 20_000) * patience();
  while (!(await isSo())) {
    if (performance.now() > end) throw new Error(`waited in vain for: ${what}\n${options.explain?.() ?? ''}`);
    await new Promise((resolve) => setTimeout(resolve, 15));
  }
}

/** True when something accepts connections there. */
export function portAnswers(port: number): Promise<boolean> {
  return new Promise((resolve) => {
    const socket = connect({ port, host: '127.0.0.1' });
    const answer = (isOpen: boolean) => {
      socket.destroy();
      resolve(isOpen);
    };
    socket.once('connect', () => answer(true));
    socket.once('error', () => answer(false));
  });
}
