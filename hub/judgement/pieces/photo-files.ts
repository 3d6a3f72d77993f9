import { open, readdir, rename, rm } from 'node:fs/promises';
import type { photoTypes } from '../../model/entries/photo-limits.ts';

/** What a photo may be, by its first bytes and not by what the sender says. */
export const photoKinds = [
  {
    type: 'image/jpeg',
    ending: 'jpg',
    is: (bytes: Buffer) => bytes.subarray(0, 3).equals(Buffer.from([0xff, 0xd8, 0xff])),
  },
  {
    type: 'image/png',
    ending: 'png',
    is: (bytes: Buffer) => bytes.subarray(0, 8).equals(Buffer.from([0x89, 0x50, 0x4e, 0x47, 0x0d, 0x0a, 0x1a, 0x0a])),
  },
  {
    type: 'image/webp',
    ending: 'webp',
    is: (bytes: Buffer) => bytes.toString('latin1', 0, 4) === 'RIFF' && bytes.toString('latin1', 8, 12) === 'WEBP',
  },
] as const satisfies readonly { type: (typeof photoTypes)[number]; ending: string; is(bytes: Buffer): boolean }[];

/** Names that the hub itself gives; nothing else is ever opened. */
const safeName = /^p\d{1,9}-\d{1,4}\.(jpg|png|webp)$/;

export const isPhotoName = (name: string): boolean => safeName.test(name);

/** Names in the folder, in order; none where there is no folder. */
export async function photoNamesIn(dir: string): Promise<string[]> {
  const found = await readdir(dir).catch((error: NodeJS.ErrnoException) => {
    if (error.code === 'ENOENT') return [];
    throw error;
  });
  return found.filter(isPhotoName).sort();
}

/** Whole or not at all, also through a power cut. */
export async function writeSynced(path: string, bytes: Buffer): Promise<void> {
  const draft = `${path}.draft`;
  try {
    const file = await open(draft, 'w', 0o644);
    try {
      await file.writeFile(bytes);
      await file.sync();
    } finally {
      await file.close();
    }
    await rename(draft, path);
  } catch (error) {
    await rm(draft, { force: true });
    throw error;
  }
}
