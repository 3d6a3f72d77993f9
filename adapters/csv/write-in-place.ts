import { closeSync, fsyncSync, ftruncateSync, openSync, writeSync } from 'node:fs';

/**
 * Writes the text of a file that is there into the same file: its owner, mode and place stay, and the folder need not be
 * writable, which is all that the sandbox of the service allows.
 *
 * Is: at return the new text is on disk. Is not: whole after a power cut in the middle of the write; whoever calls keeps the
 * old text elsewhere first.
 *
 * @throws the error of the file system; a file that cannot be opened for writing is untouched
 */
export function writeInPlace(path: string, text: string): void {
  const bytes = Buffer.from(text, 'utf8');
  const file = openSync(path, 'r+');
  try {
    for (let written = 0; written < bytes.length; )
      written += writeSync(file, bytes, written, bytes.length - written, written);
    ftruncateSync(file, bytes.length);
    fsyncSync(file);
  } finally {
    closeSync(file);
  }
}
