import { constants } from 'node:fs';
import { copyFile, mkdir, open, readdir, rename, rm, stat } from 'node:fs/promises';
import { join } from 'node:path';

/**
 * Copies the photos that are not in the backup yet. A photo never changes under its name, so that one of the same size is
 * the same. One that was deleted stays in the copy.
 *
 * @returns how many were copied
 */
export async function copyNewPhotos(fromDir: string, toDir: string): Promise<number> {
  const names = await readdir(fromDir).catch((error: NodeJS.ErrnoException) => {
    if (error.code === 'ENOENT') return [];
    throw error;
  });
  let copied = 0;
  for (const name of names.filter((each) => !each.endsWith('.draft'))) {
    const [from, to] = [join(fromDir, name), join(toDir, name)];
    const source = await stat(from).catch(() => undefined);
    if (source === undefined || !source.isFile()) continue;
    if ((await stat(to).catch(() => undefined))?.size === source.size) continue;
    if (copied === 0) await mkdir(toDir, { recursive: true });
    const draft = `${to}.draft`;
    try {
      await copyFile(from, draft, constants.COPYFILE_FICLONE);
      const file = await open(draft, 'r');
      await file.sync().finally(() => file.close());
      await rename(draft, to);
    } catch (error) {
      await rm(draft, { force: true });
      throw error;
    }
    copied += 1;
  }
  return copied;
}
