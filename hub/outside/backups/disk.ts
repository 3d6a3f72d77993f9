import { statfsSync, statSync } from 'node:fs';

/** The store with its log, bytes; 0 for what is not there or cannot be looked at. */
export function storeBytes(storePath: string): number {
  return ['', '-wal'].reduce((sum, suffix) => sum + bytesOf(storePath + suffix), 0);
}

function bytesOf(path: string): number {
  try {
    return statSync(path).size;
  } catch {
    return 0;
  }
}

/** Free space where the folder lies, for this user, bytes; undefined where it cannot be told. */
export function freeBytes(dir: string): number | undefined {
  try {
    const { bavail, bsize } = statfsSync(dir);
    return bavail * bsize;
  } catch {
    return undefined;
  }
}
