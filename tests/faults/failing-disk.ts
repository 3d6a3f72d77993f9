import { execFileSync } from 'node:child_process';
import { statSync } from 'node:fs';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';

const source = fileURLToPath(new URL('failing-disk.c', import.meta.url));

export type DiskErrors = { readOf: string; fromByte: number; toByte: number } | { writeBelow: string };

/** What the environment of a hub must hold for its disk to report errors (EIO). Compiled into this folder. */
export function failingDisk(folder: string, errors: DiskErrors): Record<string, string> {
  const library = join(folder, 'failing-disk.so');
  execFileSync('gcc', ['-shared', '-fPIC', '-O1', '-o', library, source, '-ldl'], { stdio: 'pipe' });
  return {
    LD_PRELOAD: library,
    ...('writeBelow' in errors
      ? { FAIL_WRITE_BELOW: errors.writeBelow }
      : { FAIL_READ_INODE: String(statSync(errors.readOf).ino), FAIL_READ: `${errors.fromByte}-${errors.toByte}` }),
  };
}
