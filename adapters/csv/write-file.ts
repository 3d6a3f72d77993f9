import { randomBytes } from 'node:crypto';
import { type FileHandle, lstat, mkdir, open, readdir, rename, rm } from 'node:fs/promises';
import { basename, dirname, join } from 'node:path';

/** Names as they are given below to drafts of the tables and pages that are written here, and to nothing else. */
const draftName = /^\..+\.(csv|html)\.[0-9a-f]{12}\.tmp$/;
/** A write takes seconds: an older draft is of one that was killed. */
const oldestDraftMs = 10 * 60_000;

/**
 * Writes a file whole or not at all, and makes its folder when there is none. Drafts that killed writes left in that folder are
 * removed.
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
    await removeLeftDrafts(folder, draft);
    await rename(draft, path);
  } catch (error) {
    await rm(draft, { force: true });
    // Of a write that fails the system names no file.
    throw Object.assign(error as Error, { path });
  }
  // The name itself lives in the folder: without this a power cut may bring the old file back.
  await withHandle(await open(folder, 'r'), (handle) => handle.sync());
}

/** What cannot be removed stays: the file that is written counts. */
async function removeLeftDrafts(folder: string, ownDraft: string): Promise<void> {
  try {
    // By the clock of the file system, which may be another machine's.
    const newestMs = (await lstat(ownDraft)).mtimeMs - oldestDraftMs;
    for (const name of await readdir(folder)) {
      if (!draftName.test(name)) continue;
      const found = await lstat(join(folder, name));
      if (found.isFile() && found.mtimeMs < newestMs) await rm(join(folder, name), { force: true });
    }
  } catch {
    // The next write tries again.
  }
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
