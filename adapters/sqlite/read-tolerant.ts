import { closeSync, fstatSync, openSync, readSync } from 'node:fs';

const atOnceBytes = 1 << 20;
const sectorBytes = 512;

/** The bytes of a file; sectors that the disk cannot read are zeros, and counted. @throws when it cannot be opened */
export function readTolerant(path: string): { bytes: Buffer; unreadSectors: number } {
  const file = openSync(path, 'r');
  try {
    const bytes = Buffer.alloc(fstatSync(file).size);
    let unreadSectors = 0;
    const read = (from: number, length: number) => {
      for (let at = from; at < from + length; ) {
        const got = readSync(file, bytes, at, from + length - at, at);
        if (got === 0) return;
        at += got;
      }
    };
    for (let at = 0; at < bytes.length; at += atOnceBytes) {
      const length = Math.min(atOnceBytes, bytes.length - at);
      try {
        read(at, length);
      } catch {
        for (let sector = at; sector < at + length; sector += sectorBytes) {
          try {
            read(sector, Math.min(sectorBytes, at + length - sector));
          } catch {
            bytes.fill(0, sector, Math.min(sector + sectorBytes, at + length));
            unreadSectors += 1;
          }
        }
      }
    }
    return { bytes, unreadSectors };
  } finally {
    closeSync(file);
  }
}
