import { crc32 } from 'node:zlib';

/**
 * The checksum kept beside a row, CRC-32. SQLite's own integrity check looks at the structure of the file and does not
 * see a flipped bit inside a value; this does.
 */
export function rowCheck(...cells: (string | number | null)[]): number {
  return crc32(JSON.stringify(cells));
}

const scratch = new ArrayBuffer(24);
const cells = new DataView(scratch);
const bytes = new Uint8Array(scratch);

/** The same for one reading, without making a text of it: there are millions. */
export function readingCheck(timeMs: number, seriesId: number, value: number, flagCode: number): number {
  cells.setFloat64(0, timeMs);
  cells.setFloat64(8, value);
  cells.setUint32(16, seriesId);
  cells.setUint32(20, flagCode);
  return crc32(bytes);
}
