import { existsSync, mkdtempSync, rmSync } from 'node:fs';
import { join } from 'node:path';
import type { Config } from '../model/config/schema.ts';
import { Refused } from '../model/refusals/refused.ts';
import { diskTrouble } from './disk-trouble.ts';
import type { Terminal } from './terminal.ts';
import type { VerbAdapters } from './verb-adapters.ts';

/**
 * Works on a checked copy of the store, which is removed after it: a running hub has the store for itself, and goes on. What a
 * flipped bit has changed in the store is told, and the exit code says it.
 *
 * @throws Refused not_done  where there is no store, or no copy of it can be made
 */
export async function onCopyOfStore(
  config: Config,
  adapters: Pick<VerbAdapters, 'backupStore'>,
  terminal: Terminal,
  work: (copy: string) => Promise<void>,
): Promise<void> {
  const path = join(config.data_dir, 'brinekeep.db');
  if (!existsSync(path)) throw new Refused('not_done', `${path}: there is no store yet, so there is nothing to export`);
  const dir = mkdtempSync(join(config.data_dir, 'export-'));
  try {
    const copy = join(dir, 'copy.db');
    const damaged = await adapters.backupStore(path, copy).catch((error: unknown) => {
      throw new Refused('not_done', diskTrouble(error) ?? (error instanceof Error ? error.message : String(error)));
    });
    for (const sentence of damaged) terminal.complain(sentence);
    if (damaged.length > 0) process.exitCode = 1;
    await work(copy);
  } finally {
    rmSync(dir, { recursive: true, force: true });
  }
}
