import { crc32 } from 'node:zlib';

/**
 * The checksum kept beside a row, CRC-32. SQLite's own integrity check looks at the structure of the file and does not
 * see a flipped bit inside a value; this does.
 */
export function rowCheck(...cells: (string | number | null)[]): number {
  return crc32(JSON.stringify(cells));
}
