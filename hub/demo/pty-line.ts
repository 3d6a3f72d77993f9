import { type ChildProcess, spawn } from 'node:child_process';
import { existsSync, rmSync } from 'node:fs';
import { join } from 'node:path';
import { setTimeout as sleep } from 'node:timers/promises';

/**
 * A serial line that ends in this process: one side is a real pseudo-terminal that the hub opens like any serial port, on
 * the other side we are the probes' board. The child that holds the terminal ends when its standard input does, so it
 * cannot outlive this process.
 */
export type PtyLine = {
  /** What holds the terminal. */
  by: 'socat' | 'python3';
  /** What the hub opens. */
  path: string;
  /** Sends bytes; a line that the reader leaves lying is dropped and counted, never queued without bound. */
  write(bytes: Buffer): void;
  dropped(): number;
  stop(): Promise<void>;
};

/** Holds a pseudo-terminal open and moves standard input into it. */
const pythonHolder = `
import os, pty, sys, tty
master, slave = pty.openpty()
tty.setraw(slave)
link = sys.argv[1]
os.symlink(os.ttyname(slave), link)
try:
    while True:
        data = os.read(0, 4096)
        if not data:
            break
        os.write(master, data)
finally:
    os.unlink(link)
`;

const holders = [
  { by: 'socat', command: 'socat', args: (link: string) => [`pty,raw,echo=0,link=${link}`, 'STDIO'] },
  { by: 'python3', command: 'python3', args: (link: string) => ['-c', pythonHolder, link] },
] as const;

/** An interpreter on a small board with a slow card takes its time. */
const readyWithinMs = 10_000;
const pollMs = 20;
/** A holder that waits for a reader may not hear the first signal. */
const stopWithinMs = 700;

/**
 * Opens a pseudo-terminal with the first tool that this machine has.
 *
 * @param dir  an existing folder for the link, short enough for a device path
 * @param tools  the tools to try, in order
 * @returns undefined when none of them can make one
 */
export async function openPtyLine(
  dir: string,
  tools: readonly PtyLine['by'][] = ['socat', 'python3'],
): Promise<PtyLine | undefined> {
  for (const by of tools) {
    const holder = holders.find((candidate) => candidate.by === by);
    if (holder === undefined) continue;
    const path = join(dir, `demo-board-${by}-${process.pid}`);
    rmSync(path, { force: true });
    const child = spawn(holder.command, holder.args(path), { stdio: ['pipe', 'ignore', 'ignore'] });
    const ended = endOf(child);
    // A reader that is gone makes the pipe break; the end of the child tells of it.
    child.stdin.on('error', () => {});
    if (await isReady(path, child)) return lineOver(by, path, child, ended);
    end(child, 'SIGTERM');
    await ended;
    rmSync(path, { force: true });
  }
  return undefined;
}

/**
 * Ends a child that was really started. One that was not (the tool is missing) has no pid, and Node then signals whatever
 * number lies in that memory: at worst 0, which is the whole process group.
 */
function end(child: ChildProcess, signal: NodeJS.Signals): void {
  if (child.pid !== undefined) child.kill(signal);
}

function endOf(child: ChildProcess): Promise<void> {
  return new Promise((resolve) => {
    child.once('error', () => resolve());
    child.once('exit', () => resolve());
  });
}

function hasEnded(child: ChildProcess): boolean {
  return child.pid === undefined || child.exitCode !== null || child.signalCode !== null;
}

async function isReady(path: string, child: ChildProcess): Promise<boolean> {
  for (let waitedMs = 0; waitedMs < readyWithinMs; waitedMs += pollMs) {
    if (existsSync(path)) return true;
    if (hasEnded(child)) return false;
    await sleep(pollMs);
  }
  return false;
}

function lineOver(by: PtyLine['by'], path: string, child: ChildProcess, ended: Promise<void>): PtyLine {
  let dropped = 0;
  return {
    by,
    path,
    write(bytes) {
      const { stdin } = child;
      if (stdin === null || !stdin.writable || stdin.writableNeedDrain) dropped += 1;
      else stdin.write(bytes);
    },
    dropped: () => dropped,
    async stop() {
      child.stdin?.end();
      end(child, 'SIGTERM');
      const timer = setTimeout(() => end(child, 'SIGKILL'), stopWithinMs);
      await ended;
      clearTimeout(timer);
      // A holder that was killed while it waited for a reader leaves its link behind.
      rmSync(path, { force: true });
    },
  };
}
