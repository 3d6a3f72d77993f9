import {
  closeSync,
  fchmodSync,
  fchownSync,
  fstatSync,
  fsyncSync,
  ftruncateSync,
  openSync,
  readFileSync,
  realpathSync,
  renameSync,
  rmSync,
  type Stats,
  writeSync,
} from 'node:fs';
import { basename, dirname, join } from 'node:path';

/**
 * Writes another text over a file that is there; its owner and mode stay, and where the path is a link, the link.
 *
 * Is: on disk at return; whole, the old text or the new one, through an error and a power cut, since the new one takes the old one's place
 * in one step. Where the folder allows no second file, or the file is mounted by itself, as in the sandbox of the service, it is written in
 * its place, and then it is not whole after a power cut in the middle of the write: whoever calls keeps the old text elsewhere first.
 *
 * @returns why it was written in its place; undefined where it was not
 * @throws the error of the file system; the old text is there then
 */
export function writeOver(path: string, text: string): string | undefined {
  const place = realpathSync(path);
  const bytes = Buffer.from(text, 'utf8');
  const file = openSync(place, 'r+');
  try {
    const why = exchange(place, bytes, fstatSync(file));
    if (why !== undefined) writeInto(file, bytes);
    return why;
  } finally {
    closeSync(file);
  }
}

/** What says that another file cannot take the place of this one, and nothing of the disk. */
const notHere: ReadonlySet<string> = new Set(['EACCES', 'EPERM', 'EROFS', 'EBUSY', 'EXDEV']);

/** Why nothing took the place of the file; undefined when the new text did. */
function exchange(place: string, bytes: Buffer, { mode, uid, gid }: Stats): string | undefined {
  const beside = join(dirname(place), `.${basename(place)}.new`);
  try {
    rmSync(beside, { force: true });
    const made = openSync(beside, 'wx', 0o600);
    try {
      fchownSync(made, uid, gid);
      fchmodSync(made, mode & 0o7777);
      writeAll(made, bytes);
      fsyncSync(made);
    } finally {
      closeSync(made);
    }
    renameSync(beside, place);
  } catch (error) {
    try {
      rmSync(beside, { force: true });
    } catch {
      // A folder that takes no file lets none go either.
    }
    const { code = '', message } = error as NodeJS.ErrnoException;
    if (notHere.has(code)) return message;
    throw error;
  }
  // The new name is on disk with the folder.
  const folder = openSync(dirname(place), 'r');
  try {
    fsyncSync(folder);
  } finally {
    closeSync(folder);
  }
  return undefined;
}

function writeInto(file: number, bytes: Buffer): void {
  const before = readFileSync(file);
  try {
    replace(file, bytes);
  } catch (error) {
    replace(file, before);
    throw error;
  }
}

function replace(file: number, bytes: Buffer): void {
  writeAll(file, bytes);
  ftruncateSync(file, bytes.length);
  fsyncSync(file);
}

function writeAll(file: number, bytes: Buffer): void {
  for (let written = 0; written < bytes.length; )
    written += writeSync(file, bytes, written, bytes.length - written, written);
}
