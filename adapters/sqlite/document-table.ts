import type Database from 'better-sqlite3';
import { rowCheck } from './row-check.ts';

export type NamedDocument = { name: string; body: string };

/**
 * Named documents, each replaced whole. One may also wait in memory for the next flush of readings: a transaction of its own
 * costs the card several pages however short the document is, in the company of readings it costs its own length.
 */
export function documentTable(db: Database.Database) {
  const get = db.prepare<[string], { body: string }>('SELECT body FROM documents WHERE name = ?');
  const replace = db.prepare<[string, string, number]>(
    'INSERT OR REPLACE INTO documents (name, body, row_check) VALUES (?, ?, ?)',
  );
  const waiting = new Map<string, string>();

  /** Inside a transaction. */
  function put({ name, body }: NamedDocument): void {
    replace.run(name, body, rowCheck(name, body));
  }

  return {
    put,
    body: (name: string): string | undefined => waiting.get(name) ?? get.get(name)?.body,

    wait({ name, body }: NamedDocument): void {
      waiting.set(name, body);
    },
    isAnyWaiting: (): boolean => waiting.size > 0,
    /** Inside a transaction. `forgetWaiting` follows when it is through. */
    putWaiting(): void {
      for (const [name, body] of waiting) put({ name, body });
    },
    forgetWaiting: (): void => waiting.clear(),
    /** These are stored by now in a newer form. */
    overtake(documents: readonly NamedDocument[]): void {
      for (const { name } of documents) waiting.delete(name);
    },
  };
}

export type DocumentTable = ReturnType<typeof documentTable>;
