import { mkdirSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { freePort } from './free-port.ts';
import { portAnswers, type ServerProcess, startProcess, waitUntil } from './server-process.ts';

export type Mosquitto = {
  port: number;
  /** Scratch directory: configuration, and `mq/` with what the broker keeps. */
  dir: string;
  /** kill -9: sessions survive as far as the broker had them on disk. */
  kill(): Promise<void>;
  /** Freezes (SIGSTOP) and thaws the broker: connections stay open and nothing answers. */
  freeze(): void;
  thaw(): void;
  /** Starts it again on the same port with the same store; other `config` replaces what was given before. */
  restart(config?: string): Promise<void>;
  log(): string;
  /** Ends the broker and removes the directory. */
  stop(): Promise<void>;
};

export type MosquittoOptions = {
  /** More lines for mosquitto.conf. */
  config?: string;
  /** Replaces the listener and `allow_anonymous` lines, given port and directory (TLS, passwords). */
  listener?: (port: number, dir: string) => string;
  port?: number;
};

/** Built files lie one folder deeper, in dist. */
const root = new URL(import.meta.url.endsWith('.ts') ? '../../' : '../../../', import.meta.url);

/** How the broker file that is shipped delivers and keeps messages: what is tested and measured is what a keeper gets. */
export const shippedDelivery = readFileSync(new URL('deploy/mosquitto/brinekeep.conf', root), 'utf8')
  .split('\n')
  .filter((line) => /^(set_tcp_nodelay|max_queued_\w+|max_inflight_messages) /.test(line));

const openListener = (port: number) => `listener ${port} 127.0.0.1\nallow_anonymous true`;

/** A real mosquitto on a free port of 127.0.0.1, with persistence on, ready when this resolves. */
export async function startMosquitto(options: MosquittoOptions = {}): Promise<Mosquitto> {
  const dir = mkdtempSync(join(tmpdir(), 'brinekeep-mosquitto-'));
  mkdirSync(join(dir, 'mq'));
  const port = options.port ?? (await freePort());
  const configFile = join(dir, 'mosquitto.conf');
  let config = options.config ?? '';
  let running: ServerProcess | undefined;

  async function start(): Promise<void> {
    const lines = [
      (options.listener ?? openListener)(port, dir),
      'persistence true',
      `persistence_location ${join(dir, 'mq')}/`,
      // Every change is saved at once, so that kill -9 loses no session: the default is half an hour.
      'autosave_interval 1',
      'autosave_on_changes true',
      ...shippedDelivery,
      process.getuid?.() === 0 ? 'user root' : '',
      config,
    ];
    writeFileSync(configFile, `${lines.filter((line) => line !== '').join('\n')}\n`);
    const server = startProcess('mosquitto', ['-c', configFile]);
    running = server;
    await waitUntil(
      'mosquitto answers on its port',
      () => {
        if (!server.isRunning()) throw new Error(`mosquitto ended at once: ${server.log()}`);
        return portAnswers(port);
      },
      { explain: server.log },
    );
  }

  await start();
  return {
    port,
    dir,
    log: () => running?.log() ?? '',
    async kill() {
      await running?.end('SIGKILL');
    },
    freeze() {
      running?.child.kill('SIGSTOP');
    },
    thaw() {
      running?.child.kill('SIGCONT');
    },
    async restart(changed) {
      await running?.end('SIGTERM');
      config = changed ?? config;
      await start();
    },
    async stop() {
      running?.child.kill('SIGCONT');
      await running?.end('SIGTERM');
      rmSync(dir, { recursive: true, force: true });
    },
  };
}

/**
 * Runs mosquitto_pub to its end; rejects with its words when it fails. An empty payload clears a retained message; one that
 * is too long for a command line comes from a file.
 */
export async function mosquittoPub(
  port: number,
  topic: string,
  payload: string | { file: string },
  options: { qos?: 0 | 1; retain?: boolean; args?: string[] } = {},
): Promise<void> {
  const args = ['-h', '127.0.0.1', '-p', String(port), '-t', topic, '-q', String(options.qos ?? 1)];
  if (options.retain === true) args.push('-r');
  if (typeof payload !== 'string') args.push('-f', payload.file);
  else args.push(...(payload === '' ? ['-n'] : ['-m', payload]));
  args.push(...(options.args ?? []));
  const run = startProcess('mosquitto_pub', args);
  await waitUntil('mosquitto_pub ends', () => !run.isRunning(), { explain: run.log });
  if (run.child.exitCode !== 0) throw new Error(`mosquitto_pub failed (${run.child.exitCode}): ${run.log()}`);
}

export type MosquittoSub = {
  lines(): string[];
  /** Stops reading (SIGSTOP) and goes on; the connection stays open. */
  freeze(): void;
  thaw(): void;
  stop(): Promise<void>;
};

/** mosquitto_sub in the background; each message is a line `<r> <topic> <payload>`, r is 1 for a retained one. Ready when this resolves. */
export async function mosquittoSub(port: number, topic: string, args: string[] = []): Promise<MosquittoSub> {
  // By the line: into a pipe it would keep its words until some kilobytes are full.
  const command = ['-oL', 'mosquitto_sub', '-h', '127.0.0.1', '-p', String(port), '-t', topic, '-q', '1'];
  // Far more than a test lets it hear: a count of lines must not sink because the first of them are gone.
  const run = startProcess('stdbuf', [...command, '-F', '%r %t %p', '-d', ...args], 1_000_000);
  await waitUntil('mosquitto_sub is subscribed', () => run.log().includes('Subscribed'), { explain: run.log });
  return {
    lines: () =>
      run
        .log()
        .split('\n')
        .filter((line) => /^[01] /.test(line)),
    freeze: () => void run.child.kill('SIGSTOP'),
    thaw: () => void run.child.kill('SIGCONT'),
    stop: () => run.end('SIGTERM'),
  };
}
