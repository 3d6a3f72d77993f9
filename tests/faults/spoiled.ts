import { execFileSync } from 'node:child_process';
import { appendFileSync, closeSync, mkdirSync, openSync, statSync, writeSync } from 'node:fs';
import Database from 'better-sqlite3';

/** What a disk or a bad sector does to the files of a hub. */

/** A real small disk on a new folder. Needs root. @returns what takes it away */
export function mountSmallDisk(folder: string): () => void {
  mkdirSync(folder);
  execFileSync('mount', ['-t', 'tmpfs', '-o', 'size=8m', 'tmpfs', folder], { stdio: 'pipe' });
  return () => execFileSync('umount', ['-l', folder]);
}

/** Until not a page is left. */
export function fillUp(ballast: string): void {
  for (const bytes of [65_536, 4_096, 512]) {
    try {
      for (;;) appendFileSync(ballast, Buffer.alloc(bytes));
    } catch (error) {
      if (!(error instanceof Error && error.message.includes('ENOSPC'))) throw error;
    }
  }
}

/** The first sector of a file becomes zeros, or as much of it as there is. */
export function zeroHead(path: string): void {
  const fd = openSync(path, 'r+');
  writeSync(fd, Buffer.alloc(Math.min(512, statSync(path).size)), 0, undefined, 0);
  closeSync(fd);
}

export function documentNames(storePath: string): string[] {
  const db = new Database(storePath, { readonly: true });
  const rows = db.prepare<[], { name: string }>('SELECT name FROM documents').all();
  db.close();
  return rows.map(({ name }) => name);
}

/** One byte in the middle of a document is another one; its checksum is as it was. */
export function changeByteOf(storePath: string, document: string): void {
  const db = new Database(storePath);
  db.prepare(
    "UPDATE documents SET body = substr(body, 1, length(body) / 2) || '~' || substr(body, length(body) / 2 + 2) WHERE name = ?",
  ).run(document);
  db.close();
}

/** The bytes of the page in which a table begins. */
export function firstPageOf(storePath: string, table: string): { fromByte: number; toByte: number } {
  const db = new Database(storePath);
  const pageBytes = Number(db.pragma('page_size', { simple: true }));
  const { rootpage } = db
    .prepare<[string], { rootpage: number }>('SELECT rootpage FROM sqlite_schema WHERE name = ?')
    .get(table)!;
  db.close();
  const fromByte = (rootpage - 1) * pageBytes;
  return { fromByte, toByte: fromByte + 512 };
}
