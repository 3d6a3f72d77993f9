import { existsSync, readdirSync, statSync } from 'node:fs';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';

const repository = fileURLToPath(new URL('../..', import.meta.url));

/** When a source of the hub, the page left out, was last changed. */
function sourcesChangedMs(): number {
  const files = ['rules', 'adapters', 'hub'].flatMap((folder) =>
    readdirSync(join(repository, folder), { recursive: true, encoding: 'utf8' })
      .filter((name) => name.endsWith('.ts') && !name.startsWith('web/'))
      .map((name) => join(repository, folder, name)),
  );
  return Math.max(...files.map((file) => statSync(file).mtimeMs));
}

function findCommand(): readonly string[] {
  const built = join(repository, 'dist', 'hub', 'main.js');
  const isFresh = existsSync(built) && statSync(built).mtimeMs > sourcesChangedMs();
  return isFresh
    ? [built]
    : ['--conditions=source', '--import', import.meta.resolve('tsx'), join(repository, 'hub', 'main.ts')];
}

let command: readonly string[] | undefined;

/**
 * What `node` is told to run the hub: its build where no source is younger, since that starts in half the processor time;
 * else the sources, so that no test runs a stale build.
 */
export function hubCommand(): readonly string[] {
  command ??= findCommand();
  return command;
}
