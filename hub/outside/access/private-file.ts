import { randomBytes } from 'node:crypto';
import {
  closeSync,
  fchownSync,
  fsyncSync,
  mkdirSync,
  openSync,
  renameSync,
  rmSync,
  statSync,
  writeSync,
} from 'node:fs';
import { basename, dirname, join } from 'node:path';

/**
 * Writes a file that its owner alone may read (mode 0600), whole or not at all: at return it is on disk under its name.
 *
 * @throws the error of the file system; the old file is then untouched
 */
export function writePrivateFile(path: string, text: string): void {
  const folder = dirname(path);
  mkdirSync(folder, { recursive: true });
  const draft = join(folder, `.${basename(path)}.${randomBytes(6).toString('hex')}.tmp`);
  try {
    // Opened with its mode: made readable first and closed later, it could be read in between.
    withFile(draft, 'wx', 0o600, (file) => {
      // Written by the administrator, read by the hub under a user of its own, to whom the folder belongs.
      const { uid, gid } = statSync(folder);
      if (process.getuid?.() === 0) fchownSync(file, uid, gid);
      writeSync(file, text);
      fsyncSync(file);
    });
    renameSync(draft, path);
  } catch (error) {
    rmSync(draft, { force: true });
    // Of a write that fails the system names no file.
    throw Object.assign(error as Error, { path });
  }
  withFile(folder, 'r', undefined, fsyncSync);
}

function withFile(path: string, flags: string, mode: number | undefined, use: (file: number) => void): void {
  const file = openSync(path, flags, mode);
  try {
    use(file);
  } finally {
    closeSync(file);
  }
}
