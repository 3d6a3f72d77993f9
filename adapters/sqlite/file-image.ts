import { existsSync, statSync } from 'node:fs';
import { totalmem } from 'node:os';
import Database from 'better-sqlite3';
import type { Frame } from './log-frames.ts';
import { readTolerant } from './read-tolerant.ts';

/** The file and its copy are in memory together for a moment. */
const mostOfMemory = 0.25;

export class TooLargeForMemory extends RangeError {
  override readonly name = 'TooLargeForMemory';
}

/**
 * The file of a store with these pages of its log over it, in memory. The file is only read; what the disk cannot read of it
 * is zeros.
 *
 * @param onUnread  told of sectors that the disk cannot read
 * @param mostBytes  a quarter of the machine's memory unless given
 * @throws TooLargeForMemory  before anything of the file is read
 */
export function imageOf(
  path: string,
  frames: readonly Frame[],
  onUnread: (sectors: number) => void = () => {},
  mostBytes: number = totalmem() * mostOfMemory,
): Database.Database {
  if (!existsSync(path)) return new Database(':memory:');
  const filePages = frames.at(-1)?.filePages ?? 0;
  const size = Math.max(statSync(path).size, filePages * (frames[0]?.content.length ?? 0));
  if (size > mostBytes)
    throw new TooLargeForMemory(`${Math.ceil(size / 1_048_576)} MB are too much for the memory of this machine`);
  const { bytes, unreadSectors } = readTolerant(path);
  if (unreadSectors > 0) onUnread(unreadSectors);
  const image = Buffer.alloc(Math.max(bytes.length, size));
  if (image.length === 0) return new Database(':memory:');
  bytes.copy(image);
  for (const { pageNumber, content } of frames) content.copy(image, (pageNumber - 1) * content.length);
  // "Legacy" in place of "write-ahead log": sqlite.org/fileformat2.html, 1.3.3. In memory there is no log.
  image.fill(1, 18, 20);
  return new Database(image);
}
