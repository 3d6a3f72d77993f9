import { existsSync } from 'node:fs';
import { totalmem } from 'node:os';
import Database from 'better-sqlite3';
import type { Frame } from './log-frames.ts';
import { readTolerant } from './read-tolerant.ts';

/** The file and its copy are in memory together for a moment. */
const mostOfMemory = 0.25;

/**
 * The file of a store with these pages of its log over it, in memory. The file is only read; what the disk cannot read of it
 * is zeros.
 *
 * @param onUnread  told of sectors that the disk cannot read
 * @throws RangeError  for a file too large for the memory of this machine
 */
export function imageOf(
  path: string,
  frames: readonly Frame[],
  onUnread: (sectors: number) => void = () => {},
): Database.Database {
  if (!existsSync(path)) return new Database(':memory:');
  const { bytes, unreadSectors } = readTolerant(path);
  if (unreadSectors > 0) onUnread(unreadSectors);
  const filePages = frames.at(-1)?.filePages ?? 0;
  const image = Buffer.alloc(Math.max(bytes.length, filePages * (frames[0]?.content.length ?? 0)));
  if (image.length > totalmem() * mostOfMemory) throw new RangeError('too large for the memory of this machine');
  if (image.length === 0) return new Database(':memory:');
  bytes.copy(image);
  for (const { pageNumber, content } of frames) content.copy(image, (pageNumber - 1) * content.length);
  // "Legacy" in place of "write-ahead log": sqlite.org/fileformat2.html, 1.3.3. In memory there is no log.
  image.fill(1, 18, 20);
  return new Database(image);
}
