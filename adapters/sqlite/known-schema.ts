import Database from 'better-sqlite3';
import { migrations, oldestVersion } from './schema.ts';

type SchemaRow = { type: string; name: string; sql: string };

const rowsOf = (db: Database.Database) =>
  db
    .prepare<[], SchemaRow>("SELECT type, name, sql FROM sqlite_schema WHERE name NOT LIKE 'sqlite_%' AND sql NOT NULL")
    .all();

/**
 * What of a store's schema is not as this program makes it: a trigger that deletes notices passes every check of rows and pages.
 *
 * @param version  of the schema of that file, one that this program knows
 * @returns one sentence part for each table, index, trigger or view that is missing, changed or not ours
 */
export function foreignSchema(db: Database.Database, version: number): string[] {
  const fresh = new Database(':memory:');
  try {
    for (const step of migrations.slice(0, version - oldestVersion + 1)) fresh.exec(step);
    const known = new Map(rowsOf(fresh).map((row) => [row.name, row]));
    const found = rowsOf(db);
    const names = new Set(found.map(({ name }) => name));
    return [
      ...found
        .filter(({ name, sql }) => known.get(name)?.sql !== sql)
        .map(({ type, name }) => `${known.has(name) ? 'another' : 'an unknown'} ${type} ${name}`),
      ...[...known.values()].filter(({ name }) => !names.has(name)).map(({ type, name }) => `no ${type} ${name}`),
    ];
  } finally {
    fresh.close();
  }
}
