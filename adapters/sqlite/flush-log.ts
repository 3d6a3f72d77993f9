import { crc32 } from 'node:zlib';
import type Database from 'better-sqlite3';

export type LogRow = { id: number; body: Buffer; row_check: number };

/** The check of one row of the log over its place and its content. */
export function logCheck({ id, body }: Omit<LogRow, 'row_check'>): number {
  return crc32(body, id);
}

/** First in a row that holds a commit. No deflated bytes begin so: a block of that kind does not exist (RFC 1951, 3.2.3). */
export const commitMark = 0xff;

/** Whether it holds a small transaction, and not the readings of a flush. */
export function isCommit({ body }: Pick<LogRow, 'body'>): boolean {
  return body[0] === commitMark;
}

/** The end of the log. */
export function endOfLog(db: Database.Database) {
  const last = db.prepare<[], { id: number }>('SELECT coalesce(max(id), 0) AS id FROM flush_log');
  const insert = db.prepare<[number, Buffer, number]>('INSERT INTO flush_log (id, body, row_check) VALUES (?, ?, ?)');
  return {
    /** Inside a transaction. */
    append(body: Buffer): void {
      const row = { id: last.get()!.id + 1, body };
      insert.run(row.id, row.body, logCheck(row));
    },
  };
}
