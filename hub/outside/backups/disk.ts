import { statfsSync, statSync } from 'node:fs';

/** The store with its log, bytes. */
export function storeBytes(storePath: string): number {
  return ['', '-wal'].reduce(
    (sum, suffix) => sum + (statSync(storePath + suffix, { throwIfNoEntry: false })?.size ?? 0),
    0,
  );
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
