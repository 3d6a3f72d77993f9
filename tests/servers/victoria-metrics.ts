import { mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { freePort } from './free-port.ts';
import { type ServerProcess, startProcess, waitUntil } from './server-process.ts';

export type VictoriaMetrics = {
  url: string;
  /** Every sample of a metric name (`temperature_value`), times in ms. */
  samples(name: string): Promise<{ timeMs: number; value: number }[]>;
  kill(): Promise<void>;
  restart(): Promise<void>;
  /** Ends the server and removes what it stored. */
  stop(): Promise<void>;
};

/** How it keeps what it is given, as the file that we ship says. */
function shippedFlags(): string[] {
  const file = new URL('../../deploy/victoriametrics/victoria-metrics.default', import.meta.url);
  const [, flags = ''] = /^ARGS="(.*)"$/m.exec(readFileSync(file, 'utf8')) ?? [];
  return flags.split(' ').filter((flag) => /^-(retentionPeriod|dedup)/.test(flag));
}

/** A real VictoriaMetrics on a free port of 127.0.0.1 that drops repeats, ready when this resolves. */
export async function startVictoriaMetrics(): Promise<VictoriaMetrics> {
  const dir = mkdtempSync(join(tmpdir(), 'brinekeep-victoria-'));
  const port = await freePort();
  const url = `http://127.0.0.1:${port}`;
  let running: ServerProcess | undefined;

  async function start(): Promise<void> {
    const server = startProcess('victoria-metrics', [
      `-storageDataPath=${dir}/vm`,
      `-httpListenAddr=127.0.0.1:${port}`,
      ...shippedFlags(),
      '-search.latencyOffset=0s',
      '-loggerLevel=WARN',
    ]);
    running = server;
    await waitUntil(
      'victoria-metrics is healthy',
      async () => {
        if (!server.isRunning()) throw new Error(`victoria-metrics ended at once: ${server.log()}`);
        return (await fetch(`${url}/health`).catch(() => undefined))?.status === 200;
      },
      { explain: server.log },
    );
  }

  await start();
  return {
    url,
    async samples(name) {
      await fetch(`${url}/internal/force_flush`);
      const query = `match[]=${encodeURIComponent(name)}&start=0&end=4102444800`;
      const text = await (await fetch(`${url}/api/v1/export?${query}`)).text();
      return text
        .split('\n')
        .filter((line) => line !== '')
        .map((line) => JSON.parse(line) as { values: number[]; timestamps: number[] })
        .flatMap(({ values, timestamps }) => timestamps.map((timeMs, index) => ({ timeMs, value: values[index]! })));
    },
    kill: async () => running?.end('SIGKILL'),
    restart: start,
    async stop() {
      await running?.end('SIGTERM');
      rmSync(dir, { recursive: true, force: true });
    },
  };
}
