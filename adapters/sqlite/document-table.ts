import type Database from 'better-sqlite3';
import { packedText, unpackedText } from './packed-text.ts';
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
  // What is in the log of commits alone, as strict as the table.
  db.exec(
    'CREATE TEMP TABLE IF NOT EXISTS new_documents (name TEXT PRIMARY KEY, body TEXT NOT NULL, row_check INTEGER NOT NULL) WITHOUT ROWID, STRICT',
  );
  type Checked = { body: string; row_check: number };
  const get = db.prepare<[string], Checked>('SELECT body, row_check FROM main.documents WHERE name = ?');
  const getNew = db.prepare<[string], Checked>('SELECT body, row_check FROM temp.new_documents WHERE name = ?');
  const remove = db.prepare<[string]>('DELETE FROM main.documents WHERE name = ?');
  const into = (table: string) =>
    db.prepare<[string, string, number]>(`INSERT OR REPLACE INTO ${table} (name, body, row_check) VALUES (?, ?, ?)`);
  const replace = into('main.documents');
  const replaceNew = into('temp.new_documents');
  const newRows = db.prepare<[], NamedDocument>('SELECT name, body FROM temp.new_documents');
  const removeNew = db.prepare<[string]>('DELETE FROM temp.new_documents WHERE name = ?');
  const forgetNew = db.prepare('DELETE FROM temp.new_documents');
  const waiting = new Map<string, string>();

  const isNew = (name: string) => getNew.get(name) !== undefined;

  /**
   * Inside a transaction.
   *
   * @param isInMemory  only there: the document goes into the log of commits
   */
  function put({ name, body }: NamedDocument, isInMemory = false): void {
    if (isInMemory) replaceNew.run(name, body, 0);
    else putInTable(replace, { name, body });
  }

  function kept(name: string): string | undefined {
    const fresh = getNew.get(name);
    if (fresh !== undefined) return fresh.body;
    const row = get.get(name);
    if (row === undefined) return undefined;
    if (rowCheck(name, row.body) === row.row_check) return asGiven(row.body);
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
        if (rowCheck(name, body) === row_check) yield { name, body: asGiven(body) };
        else onFault({ kind: 'document_damaged', detail: `The document ${name} has changed on disk and is left out.` });
      }
    },

    wait({ name, body }: NamedDocument): void {
      waiting.set(name, body);
    },
    isAnyWaiting: (): boolean => waiting.size > 0,
    /**
     * Inside a transaction. `forgetWaiting` follows when it is through.
     *
     * @returns documents for the log of commits, and the names of those that it has in an older form
     */
    putWaiting(): { logged: NamedDocument[]; overtaken: string[] } {
      const all = [...waiting].map(([name, body]) => ({ name, body }));
      const logged = all.filter(isForLog);
      const overtaken = all.filter((each) => !isForLog(each) && isNew(each.name)).map(({ name }) => name);
      for (const name of overtaken) removeNew.run(name);
      for (const document of all) put(document, isForLog(document));
      return { logged, overtaken };
    },
    /** What is in memory alone. */
    newRows: () => newRows.all(),
    isAnyNew: (given: readonly NamedDocument[]): boolean => given.some(({ name }) => isNew(name)),
    /** Inside a transaction: what was in memory alone comes into the table. */
    settle(): void {
      for (const document of newRows.all()) put(document);
      forgetNew.run();
    },
    forgetWaiting: (): void => waiting.clear(),
    /** These are stored by now in a newer form. */
    overtake(documents: readonly NamedDocument[]): void {
      for (const { name } of documents) waiting.delete(name);
    },
  };
}

/** Too long for a place in a page of the table, which then takes two pages more each time; and short enough for the log, characters. */
const [leastForLog, mostForLog] = [300, 2000];

function isForLog({ body }: NamedDocument): boolean {
  return body.length >= leastForLog && body.length <= mostForLog;
}

/** One that says to be packed and is not: whoever reads it finds out. */
function asGiven(stored: string): string {
  try {
    return unpackedText(stored);
  } catch {
    return stored;
  }
}

/** @param replace  a statement that takes name, text and check */
export function putInTable(replace: Database.Statement<[string, string, number]>, { name, body }: NamedDocument): void {
  const text = packedText(body);
  replace.run(name, text, rowCheck(name, text));
}

export type DocumentTable = ReturnType<typeof documentTable>;
