import { closeSync, existsSync, openSync, readSync, renameSync, statSync, writeFileSync } from 'node:fs';
import { dirname } from 'node:path';
import { syncPath } from './backup.ts';
import { headerBytes, isBlank, type LogContent, logOf, readLog } from './log-frames.ts';
import { readTolerant } from './read-tolerant.ts';

export type FoundLog = { bytes: Buffer; content: LogContent | undefined; isDamaged: boolean };

/**
 * Looks at the log of a store before SQLite does, which stops at the first damage and writes over the rest.
 *
 * Is: no log that holds anything is taken for an empty one. Is not: able to tell damage to the very last commit from a power
 * cut in the midst of it.
 *
 * @returns nothing where there is no log
 */
export function readLogOf(storePath: string): FoundLog | undefined {
  const path = logPath(storePath);
  if (!existsSync(path) || statSync(path).size <= headerBytes) return undefined;
  const { bytes, unreadSectors } = readTolerant(path);
  if (isBlank(bytes) && unreadSectors === 0) return undefined;
  const content = readLog(bytes, pageBytesOf(storePath));
  return { bytes, content, isDamaged: isDamaged(bytes, content, unreadSectors) };
}

/** Puts a copy of the log as it was found beside it. Gives its name. */
export function keepLog(storePath: string, { bytes }: FoundLog, stamp: string): string {
  const aside = `${logPath(storePath)}.damaged-${stamp}`;
  writeWhole(aside, bytes);
  return aside;
}

/** Puts a log that SQLite reads to its end in the place of a damaged one. */
export function replaceLog(storePath: string, { frames, pageBytes }: LogContent): void {
  writeWhole(logPath(storePath), logOf(frames, pageBytes));
}

function logPath(storePath: string): string {
  return `${storePath}-wal`;
}

function isDamaged(bytes: Buffer, content: LogContent | undefined, unreadSectors: number): boolean {
  if (content !== undefined) return content.unreadFrames > 0 || content.readBySqlite < content.frames.length;
  // A header without a frame behind it is the rest of a first commit that was not finished.
  return unreadSectors > 0 || bytes.readUInt32BE(0) >>> 1 !== 0x377f0682 >>> 1;
}

function writeWhole(path: string, bytes: Buffer): void {
  const unfinished = `${path}.unfinished`;
  writeFileSync(unfinished, bytes, { mode: 0o600 });
  syncPath(unfinished);
  renameSync(unfinished, path);
  syncPath(dirname(path));
}

const usualPageBytes = 1024;

/** Of the file: it stands in its header. */
function pageBytesOf(storePath: string): number {
  const head = Buffer.alloc(18);
  try {
    const file = openSync(storePath, 'r');
    try {
      readSync(file, head, 0, head.length, 0);
    } finally {
      closeSync(file);
    }
  } catch {
    return usualPageBytes;
  }
  const found = head.readUInt16BE(16);
  const pageBytes = found === 1 ? 65_536 : found;
  return pageBytes >= 512 && (pageBytes & (pageBytes - 1)) === 0 ? pageBytes : usualPageBytes;
}
