import { randomBytes } from 'node:crypto';
import { type FileHandle, mkdir, open, rename, rm } from 'node:fs/promises';
import { basename, dirname, join } from 'node:path';

/**
 * Writes a file whole or not at all, and makes its folder when there is none.
 *
 * Is: at return the new text is on disk under its name. Whoever opens the name meanwhile, or after a power cut at any
 * moment, finds the old text or the new one. Is not: a lock; of two writers at once the last one stays.
 *
 * @throws the error of the file system; the old file is then untouched
 */
export async function writeWholeFile(path: string, text: string): Promise<void> {
  const folder = dirname(path);
  await mkdir(folder, { recursive: true });
  const draft = join(folder, `.${basename(path)}.${randomBytes(6).toString('hex')}.tmp`);
  try {
    await syncedWrite(draft, text);
    await rename(draft, path);
  } catch (error) {
    await rm(draft, { force: true });
    throw error;
  }
  // The name itself lives in the folder: without this a power cut may bring the old file back.
  await withHandle(await open(folder, 'r'), (handle) => handle.sync());
}

async function syncedWrite(path: string, text: string): Promise<void> {
  await withHandle(await open(path, 'wx', 0o644), async (handle) => {
    await handle.writeFile(text, 'utf8');
    await handle.sync();
  });
}

async function withHandle(handle: FileHandle, use: (handle: FileHandle) => Promise<void>): Promise<void> {
  try {
    await use(handle);
  } finally {
    await handle.close();
  }
}
