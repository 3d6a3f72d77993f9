import { existsSync } from 'node:fs';
import { join } from 'node:path';
import type { Command } from 'commander';
import { Refused } from '../model/refusals/refused.ts';
import { diskTrouble } from './disk-trouble.ts';
import { refuseWhileHubRuns } from './hub-stopped.ts';
import { defaultConfigPath, readConfig } from './read-config.ts';
import type { Terminal } from './terminal.ts';
import type { VerbAdapters } from './verb-adapters.ts';

function failed(error: unknown): never {
  throw new Refused('not_done', diskTrouble(error) ?? (error instanceof Error ? error.message : String(error)));
}

/** `brinekeep backup` and `restore`: the store as one file, also while the hub runs, and back. */
export function addBackupVerbs(program: Command, adapters: VerbAdapters, terminal: Terminal): void {
  program
    .command('backup')
    .description('copy the store into one file, even while the hub runs; the copy is checked')
    .argument('<file>', 'the backup to write')
    .option('--config <file>', 'configuration of the hub', defaultConfigPath)
    .action(async (file: string, options: { config: string }) => {
      const store = join(readConfig(options.config, terminal).data_dir, 'brinekeep.db');
      if (!existsSync(store))
        throw new Refused('not_done', `${store}: there is no store yet, so there is nothing to back up`);
      const damaged = await adapters.backupStore(store, file).catch(failed);
      for (const sentence of damaged) terminal.complain(sentence);
      terminal.print(`${file}: written and checked`);
      if (damaged.length > 0) process.exitCode = 1;
    });
  program
    .command('restore')
    .description('replace the store with a backup; the hub must be stopped')
    .argument('<file>', 'the backup')
    .option('--config <file>', 'configuration of the hub', defaultConfigPath)
    .action(async (file: string, options: { config: string }) => {
      const config = readConfig(options.config, terminal);
      await refuseWhileHubRuns(config, 'or it will overwrite what is restored');
      const aside = await adapters.restoreStore(file, join(config.data_dir, 'brinekeep.db')).catch(failed);
      terminal.print(aside === undefined ? 'restored' : `restored; the former store is kept as ${aside}`);
    });
}
