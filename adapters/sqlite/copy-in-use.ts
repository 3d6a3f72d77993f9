import { closeSync, existsSync, openSync, readSync } from 'node:fs';
import { copyFile } from 'node:fs/promises';
import { type BackupSource, damageOfCopy, throwAway } from './backup.ts';

const logHeaderBytes = 32;
const mostAttempts = 20;

/**
 * The store of another process, which has the file for itself: it is copied as two files, the store and then its log.
 *
 * While the log goes on, SQLite changes the store only by pages that are in the log: where the copy of the store has a page
 * half old and half new, the copy of the log, taken later, has the whole one and comes first. When the log begins again its
 * header changes; then the copy is made again. A commit cut in two at the end of the copied log is left out by its checksum.
 *
 * @source sqlite.org/fileformat2.html, section 4, "The Write-Ahead Log"
 */
export function storeInUse(storePath: string): BackupSource {
  async function copyTo(path: string): Promise<void> {
    for (let attempt = 1; attempt <= mostAttempts; attempt += 1) {
      throwAway(path);
      const before = logHeader(storePath);
      await copyFile(storePath, path);
      if (before !== '') await copyFile(`${storePath}-wal`, `${path}-wal`);
      if (logHeader(storePath) === before) return;
    }
    throw new Error('the store was closed, opened or its log begun again during each of the attempts to copy it');
  }

  return {
    copyTo,
    async damage() {
      // A second copy: damage that both show is in the store.
      const path = `${storePath}.second-look`;
      try {
        await copyTo(path);
        return await damageOfCopy(path);
      } finally {
        throwAway(path);
      }
    },
  };
}

/** Empty when there is no log, or none that has begun. */
function logHeader(storePath: string): string {
  const path = `${storePath}-wal`;
  if (!existsSync(path)) return '';
  const bytes = Buffer.alloc(logHeaderBytes);
  const file = openSync(path, 'r');
  try {
    const length = readSync(file, bytes, 0, logHeaderBytes, 0);
    return bytes.toString('hex', 0, length);
  } finally {
    closeSync(file);
  }
}
