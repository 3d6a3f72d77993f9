import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { freePort } from './free-port.ts';
import { type ServerProcess, startProcess, waitUntil } from './server-process.ts';

export type Influxd = {
  url: string;
  /** Runs a query on database `hub`; the rows of the first series, times in ms. */
  query(text: string): Promise<unknown[][]>;
  kill(): Promise<void>;
  /** Ends it properly; what it stored stays. */
  pause(): Promise<void>;
  restart(): Promise<void>;
  /** Ends the server and removes what it stored. */
  stop(): Promise<void>;
};

/** A real InfluxDB 1.x on a free port of 127.0.0.1 with an empty database `hub`, ready when this resolves. */
export async function startInfluxd(): Promise<Influxd> {
  const dir = mkdtempSync(join(tmpdir(), 'brinekeep-influxd-'));
  const port = await freePort();
  const url = `http://127.0.0.1:${port}`;
  const configFile = join(dir, 'influx.conf');
  let running: ServerProcess | undefined;

  async function start(): Promise<void> {
    writeFileSync(
      configFile,
      `reporting-disabled = true
bind-address = "127.0.0.1:${await freePort()}"
[meta]
dir = "${dir}/meta"
[data]
dir = "${dir}/data"
wal-dir = "${dir}/wal"
index-version = "inmem"
[http]
bind-address = "127.0.0.1:${port}"
log-enabled = false
[monitor]
store-enabled = false
`,
    );
    const server = startProcess('influxd', ['run', '-config', configFile]);
    running = server;
    await waitUntil(
      'influxd answers to a ping',
      async () => {
        if (!server.isRunning()) throw new Error(`influxd ended at once: ${server.log()}`);
        return (await fetch(`${url}/ping`).catch(() => undefined))?.status === 204;
      },
      { explain: server.log },
    );
  }

  await start();
  await fetch(`${url}/query?q=${encodeURIComponent('create database hub')}`, { method: 'POST' });
  return {
    url,
    async query(text) {
      const response = await fetch(`${url}/query?db=hub&epoch=ms&q=${encodeURIComponent(text)}`);
      const answer = (await response.json()) as { results: { series?: { values: unknown[][] }[]; error?: string }[] };
      const first = answer.results[0];
      if (first?.error !== undefined) throw new Error(first.error);
      return first?.series?.flatMap((series) => series.values) ?? [];
    },
    kill: async () => running?.end('SIGKILL'),
    pause: async () => running?.end('SIGTERM'),
    restart: start,
    async stop() {
      await running?.end('SIGTERM');
      rmSync(dir, { recursive: true, force: true });
    },
  };
}
