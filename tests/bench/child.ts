import { type ChildProcess, spawn } from 'node:child_process';
import { existsSync, mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';

/** Sources run as sources and built files as built files: what is measured is what this process itself runs. */
const isSource = import.meta.url.endsWith('.ts');

function fileBeside(name: string): string {
  return fileURLToPath(new URL(`${name}.${isSource ? 'mts' : 'mjs'}`, import.meta.url));
}

const hubMain = fileURLToPath(new URL(`../../hub/main.${isSource ? 'ts' : 'js'}`, import.meta.url));

/** As the unit of deploy/systemd starts the hub. */
const asInstalled = ['--heap-growing-percent=30', '--max-semi-space-size=1', '--optimize-for-size'];
const env = { ...process.env, MALLOC_ARENA_MAX: '1', RUNTIME_DIRECTORY: folderInMemory() };

/** What systemd gives it; where there is no memory to be had as a folder, the one for temporary files. */
function folderInMemory(): string {
  const dir = mkdtempSync(join(existsSync('/dev/shm') ? '/dev/shm' : tmpdir(), 'brinekeep-run-'));
  process.once('exit', () => rmSync(dir, { recursive: true, force: true }));
  return dir;
}

/** As the hub is installed, or as a person starts a script. */
export type StartedAs = 'installed' | 'script';

export type BenchChild<Result> = {
  pid: number;
  /** Resolves when the child says that it is ready. */
  ready: Promise<void>;
  /** Resolves with what the child measured; rejects when it ends without it. */
  result: Promise<Result>;
  stop(): void;
};

/** Runs one of the scripts beside or below this file as a process of its own, with `task` as its only argument. */
export function startChild<Result>(name: string, task: unknown, as: StartedAs = 'installed'): BenchChild<Result> {
  const flags = as === 'installed' ? asInstalled : [];
  const child = spawn(process.execPath, [...flags, ...process.execArgv, fileBeside(name), JSON.stringify(task)], {
    stdio: ['ignore', 'inherit', 'pipe', 'ipc'],
    ...(as === 'installed' && { env }),
  });
  const log = lastWords(child);
  let isReady: () => void;
  const ready = new Promise<void>((resolve) => {
    isReady = resolve;
  });
  const result = new Promise<Result>((resolve, reject) => {
    child.on('message', (message: { is: 'ready' } | { is: 'result'; result: Result }) => {
      if (message.is === 'ready') isReady();
      else resolve(message.result);
    });
    child.once('error', reject);
    child.once('exit', (code, signal) => reject(new Error(`${name} ended (${code ?? signal}): ${log()}`)));
  });
  const ended = result.then(() => undefined);
  return { pid: child.pid!, ready: Promise.race([ready, ended]), result, stop: () => void child.kill() };
}

/** For the child: what it was asked to do, and the two things that it may say. */
export function task<Task>(): Task {
  return JSON.parse(process.argv.at(-1)!) as Task;
}

export function sayReady(): void {
  process.send!({ is: 'ready' });
}

/** Says the result and ends the process, whatever still runs in it. */
export function sayResult(result: unknown): void {
  process.send!({ is: 'result', result }, () => process.exit(0));
}

export type RunningHub = {
  pid: number;
  url: string;
  startedAtMs: number;
  stop(): Promise<void>;
  kill(): Promise<void>;
};

/** `brinekeep run` as a process of its own. Resolves when it says where its page is. */
export async function startHubOf(configPath: string, onSpawn: () => void = () => {}): Promise<RunningHub> {
  const startedAtMs = performance.now();
  const child = spawn(
    process.execPath,
    [...asInstalled, ...process.execArgv, hubMain, 'run', configPath, '--log-level', 'error'],
    { stdio: ['ignore', 'pipe', 'pipe'], env },
  );
  onSpawn();
  const log = lastWords(child);
  const gone = new Promise<void>((resolve) => child.once('exit', () => resolve()));
  const url = await new Promise<string>((resolve, reject) => {
    let out = '';
    child.stdout.on('data', (chunk: Buffer) => {
      out += chunk.toString('utf8');
      const found = /Open (http\S+)/.exec(out)?.[1];
      if (found !== undefined) resolve(found);
    });
    child.once('error', reject);
    child.once('exit', (code) => reject(new Error(`the hub ended (${code}): ${out}${log()}`)));
  });
  return {
    pid: child.pid!,
    url,
    startedAtMs,
    async stop() {
      child.kill('SIGTERM');
      await gone;
    },
    async kill() {
      child.kill('SIGKILL');
      await gone;
    },
  };
}

/** Resolves when this address answers. */
export async function until200(url: string): Promise<void> {
  for (;;) {
    const response = await fetch(url).catch(() => undefined);
    await response?.arrayBuffer();
    if (response?.status === 200) return;
    await new Promise((resolve) => setTimeout(resolve, 5));
  }
}

function lastWords(child: ChildProcess): () => string {
  let words = '';
  child.stderr?.on('data', (chunk: Buffer) => {
    words = (words + chunk.toString('utf8')).slice(-2000);
  });
  return () => words;
}

/**
 * Bytes that a process had written to the device, by the kernel's own count; what it cut off again before it was written is not
 * among them (proc_pid_io(5)).
 */
export function writtenBytes(pid: number | 'self'): number {
  const counts = readFileSync(`/proc/${pid}/io`, 'utf8');
  const [written, cancelled] = ['write_bytes', 'cancelled_write_bytes'].map((name) =>
    Number(new RegExp(`^${name}: (\\d+)$`, 'm').exec(counts)?.[1]),
  ) as [number, number];
  if (Number.isNaN(written - cancelled)) throw new Error('/proc/PID/io has no write_bytes: this needs Linux');
  return written - cancelled;
}

/** Clock ticks a second of /proc, on every Linux of today. */
const ticksPerSecond = 100;

/** Processor seconds of a process so far, its own and the kernel's for it. */
export function processorSeconds(pid: number): number {
  const stat = readFileSync(`/proc/${pid}/stat`, 'utf8');
  // The name in brackets may hold blanks. Fields 14 and 15, counted from 1.
  const fields = stat.slice(stat.lastIndexOf(')') + 2).split(' ');
  return (Number(fields[11]) + Number(fields[12])) / ticksPerSecond;
}

/** Memory of a process now and at its highest, MB. */
export function residentMB(pid: number | 'self'): { now: number; most: number } {
  const status = readFileSync(`/proc/${pid}/status`, 'utf8');
  const of = (name: string) => Number(new RegExp(`^${name}:\\s+(\\d+) kB`, 'm').exec(status)?.[1]) / 1024;
  return { now: of('VmRSS'), most: of('VmHWM') };
}
