import { copyFileSync, readFileSync } from 'node:fs';
import Database from 'better-sqlite3';

/** A page with less than this unused has content under any 300 bytes that are written over it. */
const mostUnused = 200;

/** Offsets in a store's file where a page begins that is in use, full, and read from there: the log has no newer one of it. */
export function usedPages(storePath: string, scratchPath: string): { offsets: number[]; pageBytes: number } {
  const newer = pagesInLog(`${storePath}-wal`);
  // Without its log, which would be taken into it.
  copyFileSync(storePath, scratchPath);
  const db = new Database(scratchPath);
  try {
    const pageBytes = db.pragma('page_size', { simple: true }) as number;
    const pages = db
      .prepare<[number], { pageno: number }>('SELECT pageno FROM dbstat WHERE unused < ?')
      .all(mostUnused);
    const offsets = pages.filter(({ pageno }) => !newer.has(pageno)).map(({ pageno }) => (pageno - 1) * pageBytes);
    return { offsets, pageBytes };
  } finally {
    db.close();
  }
}

/**
 * Numbers of the pages in a write-ahead log.
 *
 * @source the SQLite file format, section 4.1: a header of 32 bytes, then frames of 24 bytes and a page
 */
function pagesInLog(logPath: string): Set<number> {
  const log = readFileSync(logPath);
  const pageBytes = log.readUInt32BE(8);
  const pages = new Set<number>();
  for (let at = 32; at + 24 + pageBytes <= log.length; at += 24 + pageBytes) {
    if (log.subarray(at + 8, at + 16).equals(log.subarray(16, 24))) pages.add(log.readUInt32BE(at));
  }
  return pages;
}
