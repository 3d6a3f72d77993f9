import Database from 'better-sqlite3';

/** In order of worth: what a person typed first, so that a disk that fills up costs the least. */
const tables = [
  { name: 'meta', key: ['name'], where: "name <> 'running'" },
  { name: 'counters', key: ['name'] },
  { name: 'documents', key: ['name'] },
  { name: 'journal', key: ['id'] },
  { name: 'outbox', key: ['destination', 'id'] },
  { name: 'series', key: ['id'] },
  { name: 'unsummarised', key: ['hour_ms'] },
  { name: 'reading_checks', key: ['hour_ms'] },
  { name: 'summaries_hour', key: ['series_id', 'start_ms'] },
  { name: 'summaries_minute', key: ['series_id', 'start_ms'] },
  { name: 'readings', key: ['time_ms', 'series_id'] },
] as const;

/**
 * Copies what can be read from a damaged file into a new, empty store: each table from its start up to the first page that
 * cannot be read, then from its end backwards.
 *
 * @returns what was saved and what was met, as part of a sentence
 */
export function salvageInto(db: Database.Database, damagedPath: string): string {
  let damaged: Database.Database;
  try {
    damaged = new Database(damagedPath, { fileMustExist: true });
  } catch (error) {
    return `nothing of it can be read (${messageOf(error)})`;
  }
  const saved: string[] = [];
  const trouble: string[] = [];
  try {
    for (const table of tables) {
      const { rows, error } = copyTable(damaged, db, table.name, table.key, 'where' in table ? table.where : 'true');
      if (rows > 0) saved.push(`${rows} rows of ${table.name}`);
      if (error) trouble.push(`${table.name}: ${error}`);
    }
  } finally {
    damaged.close();
  }
  const what = saved.length > 0 ? `salvaged ${saved.join(', ')}` : 'nothing of it can be read';
  return trouble.length > 0 ? `${what}; parts could not be read (${trouble.join('; ')})` : what;
}

function copyTable(
  from: Database.Database,
  to: Database.Database,
  table: string,
  key: readonly string[],
  where: string,
): { rows: number; error?: string } {
  let rows = 0;
  let error: string | undefined;
  for (const direction of ['ASC', 'DESC']) {
    try {
      const order = key.map((column) => `${column} ${direction}`).join(', ');
      const source = from.prepare(`SELECT * FROM ${table} NOT INDEXED WHERE ${where} ORDER BY ${order}`).raw();
      const columns = source.columns().length;
      const insert = to.prepare(`INSERT OR IGNORE INTO ${table} VALUES (${Array(columns).fill('?').join(', ')})`);
      to.transaction(() => {
        try {
          for (const row of source.iterate()) rows += copyRow(insert, row as unknown[]);
        } catch (met) {
          // Outside the copying of a row this is the end of what can be read; what was copied so far is kept.
          error = messageOf(met);
        }
      }).immediate();
      if (error === undefined) break;
    } catch (met) {
      error = messageOf(met);
    }
  }
  return error === undefined ? { rows } : { rows, error };
}

/** A row that does not fit the schema is garbage from a damaged page and stays behind. */
function copyRow(insert: Database.Statement, row: unknown[]): number {
  try {
    return insert.run(...row).changes;
  } catch (error) {
    if (error instanceof Database.SqliteError && error.code.startsWith('SQLITE_CONSTRAINT')) return 0;
    throw error;
  }
}

function messageOf(error: unknown): string {
  return error instanceof Error ? error.message : String(error);
}
