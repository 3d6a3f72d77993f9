import type Database from 'better-sqlite3';
import { rowCheck } from './row-check.ts';
import type { StoreFault } from './store-options.ts';

export type NamedDocument = { name: string; body: string };

/**
 * Named documents, each replaced whole. One may also wait in memory for the next flush of readings: a transaction of its own
 * costs the card several pages however short the document is, in the company of readings it costs its own length.
 *
 * A document that differs from what was written is put aside under another name and reported; to whoever asks it is not there.
 */
export function documentTable(db: Database.Database, onFault: (fault: StoreFault) => void) {
  const get = db.prepare<[string], { body: string; row_check: number }>(
    'SELECT body, row_check FROM documents WHERE name = ?',
  );
  const remove = db.prepare<[string]>('DELETE FROM documents WHERE name = ?');
  const replace = db.prepare<[string, string, number]>(
    'INSERT OR REPLACE INTO documents (name, body, row_check) VALUES (?, ?, ?)',
  );
  const waiting = new Map<string, string>();

  /** Inside a transaction. */
  function put({ name, body }: NamedDocument): void {
    replace.run(name, body, rowCheck(name, body));
  }

  function kept(name: string): string | undefined {
    const row = get.get(name);
    if (row === undefined || rowCheck(name, row.body) === row.row_check) return row?.body;
    const aside = `${name}.damaged`;
    db.transaction(() => {
      put({ name: aside, body: row.body });
      remove.run(name);
    }).immediate();
    onFault({
      kind: 'document_damaged',
      detail: `The document ${name} has changed on disk and was put aside as ${aside}.`,
      lost: [{ what: 'documents', count: 1 }],
    });
    return undefined;
  }

  return {
    put,
    body: (name: string): string | undefined => waiting.get(name) ?? kept(name),

    /** On disk, by name; one that has changed is left out and told. */
    *all(): Iterable<NamedDocument> {
      const rows = db.prepare<[], NamedDocument & { row_check: number }>('SELECT * FROM documents ORDER BY name');
      for (const { name, body, row_check } of rows.iterate()) {
        if (rowCheck(name, body) === row_check) yield { name, body };
        else onFault({ kind: 'document_damaged', detail: `The document ${name} has changed on disk and is left out.` });
      }
    },

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
