import { closeSync, fsyncSync, ftruncateSync, openSync, readFileSync, writeSync } from 'node:fs';

/**
 * Writes the text of a file that is there into the same file: its owner, mode and place stay, and the folder need not be
 * writable, which is all that the sandbox of the service allows.
 *
 * Is: at return the new text is on disk, and after an error the old one, for which there is room. Is not: whole after a power
 * cut in the middle of the write; whoever calls keeps the old text elsewhere first.
 *
 * @throws the error of the file system
 */
export function writeInPlace(path: string, text: string): void {
  const file = openSync(path, 'r+');
  try {
    const before = readFileSync(file);
    try {
      replace(file, Buffer.from(text, 'utf8'));
    } catch (error) {
      replace(file, before);
      throw error;
    }
  } finally {
    closeSync(file);
  }
}

function replace(file: number, bytes: Buffer): void {
  for (let written = 0; written < bytes.length; )
    written += writeSync(file, bytes, written, bytes.length - written, written);
  ftruncateSync(file, bytes.length);
  fsyncSync(file);
}
