import { existsSync, readFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import type { Command } from 'commander';
import { configFile } from '../model/settings/config-file.ts';
import { createBoundedLog } from '../outside/observability/bounded-log.ts';
import { logDestination } from '../outside/observability/log-words.ts';
import { startHub } from '../room/hub.ts';
import { failedStart } from './failed-start.ts';
import { defaultConfigPath, goodConfig } from './read-config.ts';
import type { Terminal } from './terminal.ts';
import type { VerbAdapters } from './verb-adapters.ts';
import { waitForConfig } from './wait-for-config.ts';

const isSource = import.meta.url.endsWith('.ts');

/** Where the build puts the page, seen from the sources, from the one built file, and from this file built alone. */
export const pageDir = (isSource ? ['../../dist/web'] : ['../web', '../../web'])
  .map((place) => fileURLToPath(new URL(place, import.meta.url)))
  .reduce((first, second) => (existsSync(first) ? first : second));

/** A release lays this file beside the native part of its database (`deploy/make/natives.mjs`). */
const syncsDataAlone = existsSync(new URL('../prebuilds/fdatasync', import.meta.url));

/** Whoever changed the configuration on the page is answered before the hub ends. */
const answerFirstMs = 500;

/** Resolves when the process is asked to stop; a second request ends it at once. */
export function askedToStop(): Promise<string> {
  return new Promise((resolve) => {
    for (const signal of ['SIGINT', 'SIGTERM'] as const) {
      process.once(signal, () => {
        process.once(signal, () => process.exit(1));
        resolve(signal);
      });
    }
  });
}

/** `brinekeep run [CONFIG]`: the hub, until it is asked to stop. */
export function addRunVerb(program: Command, adapters: VerbAdapters, terminal: Terminal): void {
  program
    .command('run')
    .description('run the hub')
    .argument('[config]', 'the YAML file', defaultConfigPath)
    .option('--log-level <level>', 'error, warn, info or debug; overrides the configuration')
    .option('--wait-for-config', 'if the file has mistakes, show them on the port of the page until it is fixed')
    .option('--list-ports', 'list the serial ports of this machine and exit')
    .action(async (path: string, options: { logLevel?: string; listPorts?: boolean; waitForConfig?: boolean }) => {
      if (options.listPorts === true) {
        await adapters.listPorts(terminal.print);
        return;
      }
      const stopping = askedToStop();
      const { serviceManager } = adapters.hub;
      const good =
        options.waitForConfig === true
          ? await waitForConfig(path, { terminal, serviceManager, stopping })
          : goodConfig(path, terminal);
      if (good === undefined) return;
      const { config, text } = good;
      const level = options.logLevel ?? config.log.level;
      const log = createBoundedLog({ level }, () => performance.now(), logDestination(process.stdout, process.env));
      if (!syncsDataAlone)
        log.info(
          'the database syncs by fsync, as in every source checkout: a release syncs its data alone (fdatasync) and writes less to the card',
        );
      const readFile = (file: string) => readFileSync(file, 'utf8');
      let endFor: (why: string) => void = () => {};
      const changed = new Promise<string>((resolve) => {
        endFor = resolve;
      });
      // Nobody starts a hub again that a person started by hand: its change waits for that person.
      const isManaged = process.env['NOTIFY_SOCKET'] !== undefined;
      const startAgain = () => void setTimeout(() => endFor('configuration changed'), answerFirstMs);
      const writeFile = (file: string, changed: string) => {
        const why = adapters.hub.writeOver(file, changed);
        if (why !== undefined)
          log.info({ file, why }, 'written in its place, since no second file can take it; the store has the old text');
      };
      const hub = await startHub(config, adapters.hub, {
        pageDir,
        log,
        secrets: { env: process.env, readFile },
        configFile: configFile(path, text, {
          env: process.env,
          readFile,
          writeFile,
          ...(isManaged ? { startAgain } : {}),
        }),
        isInvented: false,
      }).catch((error: unknown) => {
        throw failedStart(error, config);
      });
      if (hub.refused !== undefined) terminal.complain(hub.refused);
      terminal.print(`Brinekeep is watching ${config.site.name}. Open ${hub.url}`);
      log.info({ signal: await Promise.race([stopping, changed]) }, 'asked to stop');
      await hub.stop();
    });
}
