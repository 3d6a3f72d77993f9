import { spawnSync } from 'node:child_process';
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';

/** Runs work with a directory on disk that is gone afterwards. */
export async function inScratch<Result>(work: (dir: string) => Promise<Result>): Promise<Result> {
  const dir = mkdtempSync(join(tmpdir(), 'brinekeep-bench-'));
  try {
    return await work(dir);
  } finally {
    rmSync(dir, { recursive: true, force: true });
  }
}

/** A configuration file of these blocks, one a line: JSON is YAML too. Everything it writes lies in `dir`. */
export function writeConfig(dir: string, blocks: Record<string, unknown>): string {
  const path = join(dir, 'room.yaml');
  const all: Record<string, unknown> = {
    data_dir: join(dir, 'data'),
    weekly: { dir: join(dir, 'weekly') },
    backups: { enabled: false },
    http: { port: 0 },
    broker: { port: 0 },
    ...blocks,
  };
  writeFileSync(
    path,
    `${Object.entries(all)
      .map(([key, block]) => `${key}: ${JSON.stringify(block)}`)
      .join('\n')}\n`,
  );
  return path;
}

/** Why a program cannot be used; undefined when it is here. */
export function missing(program: string): string | undefined {
  const { error } = spawnSync(program, ['--help'], { stdio: 'ignore', timeout: 20_000 });
  return error === undefined ? undefined : `${program} is not installed`;
}
