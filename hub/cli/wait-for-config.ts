import { createServer, type Server } from 'node:http';
import type { ServiceManager } from '#adapters/ports/service-manager.ts';
import { httpSchema } from '../model/config/schema-access.ts';
import { readYaml } from '../model/config/yaml-source.ts';
import { Refused } from '../model/refusals/refused.ts';
import { type ConfigRead, type ConfigText, readConfigText, tellReading } from './read-config.ts';
import type { Terminal } from './terminal.ts';
import { type Trouble, waitingPage } from './waiting-page.ts';

/** Looked at and not watched: editors replace a file, and network shares tell nothing. */
const lookEveryMs = 1000;

export type WaitParts = {
  terminal: Terminal;
  serviceManager: ServiceManager;
  /** Resolves when the process is asked to stop. */
  stopping: Promise<unknown>;
};

/**
 * The configuration as soon as it is good. Until then the hub answers on its port with what is wrong, so that whoever looks
 * for the room finds the reason and not a dead address. Undefined when it was asked to stop before.
 *
 * @throws Refused  when that port cannot be opened
 */
export async function waitForConfig(path: string, parts: WaitParts): Promise<ConfigText | undefined> {
  const { terminal, serviceManager } = parts;
  let reading = readConfigText(path);
  tellReading(reading, terminal);
  if (reading.is === 'good') return reading;
  const server = createServer(waitingPage(() => troubleOf(path, reading)));
  const { host, port } = addressIn(reading);
  await listening(server, host, port);
  const address = server.address();
  const open = typeof address === 'object' && address !== null ? address.port : port;
  terminal.print(`${path} must be fixed first. Open http://${host}:${open} to see what is wrong`);
  // The manager would take a start that waits for a failed one, and end it.
  serviceManager.ready();
  let isStopping = false;
  void parts.stopping.then(() => {
    isStopping = true;
  });
  const aliveEveryMs = (serviceManager.watchdogMs ?? Number.POSITIVE_INFINITY) / 3;
  let aliveMs = performance.now();
  while (!isStopping && reading.is !== 'good') {
    await Promise.race([new Promise((resolve) => setTimeout(resolve, lookEveryMs)), parts.stopping]);
    if (performance.now() - aliveMs >= aliveEveryMs) {
      aliveMs = performance.now();
      serviceManager.alive();
    }
    const next = readConfigText(path);
    if (saidBy(next) !== saidBy(reading)) tellReading(next, terminal);
    reading = next;
  }
  server.closeAllConnections();
  await new Promise((resolve) => server.close(resolve));
  return reading.is === 'good' ? reading : undefined;
}

function troubleOf(path: string, reading: ConfigRead): Trouble {
  if (reading.is === 'unreadable') return { path, problems: [], unreadable: reading.why };
  return { path, problems: reading.is === 'wrong' ? reading.problems : [] };
}

function saidBy(reading: ConfigRead): string {
  if (reading.is === 'unreadable') return reading.why;
  return reading.is === 'good' ? '' : reading.problems.map(({ text }) => text).join('\n');
}

/** Host and port as far as they can be read from a file with mistakes, each for itself; else the usual ones. */
function addressIn(reading: ConfigRead): { host: string; port: number } {
  const usual = httpSchema.parse({});
  const source = reading.is === 'wrong' ? readYaml(reading.text) : undefined;
  const block = source?.isReadable === true ? blockOf(blockOf(source.value)['http']) : {};
  const host = httpSchema.shape.host.safeParse(block['host']);
  const port = httpSchema.shape.port.safeParse(block['port']);
  return { host: host.success ? host.data : usual.host, port: port.success ? port.data : usual.port };
}

function blockOf(value: unknown): Record<string, unknown> {
  return typeof value === 'object' && value !== null ? (value as Record<string, unknown>) : {};
}

function listening(server: Server, host: string, port: number): Promise<void> {
  return new Promise((resolve, reject) => {
    server.once('error', (error) =>
      reject(new Refused('not_done', `the page that says what is wrong cannot open ${host}:${port}: ${error.message}`)),
    );
    server.listen(port, host, () => resolve());
  });
}
