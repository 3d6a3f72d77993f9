import type Database from 'better-sqlite3';
import type { Series } from '#rules/quality/reading.ts';
import { isMetric } from '#rules/quantity/metric.ts';
import { seriesKey } from './write-buffer.ts';

type Row = { id: number; system: string; metric: string; probe: string };

/** Series and their small integer ids, held in memory as well: a row of readings takes 26 bytes, with the names 120. */
export function seriesTable(db: Database.Database) {
  const insert = db.prepare<[string, string, string]>('INSERT INTO series (system, metric, probe) VALUES (?, ?, ?)');
  const ids = new Map<string, number>();
  const byId = new Map<number, Series>();

  function remember(id: number, series: Series): void {
    ids.set(seriesKey(series), id);
    byId.set(id, series);
  }

  for (const row of db.prepare<[], Row>('SELECT id, system, metric, probe FROM series ORDER BY id').all()) {
    // A metric that this version does not know stays in the file and out of sight.
    if (isMetric(row.metric)) remember(row.id, { system: row.system, metric: row.metric, probe: row.probe });
  }

  return {
    idOf: (series: Series): number | undefined => ids.get(seriesKey(series)),

    /** Stores what is new among them, in one transaction. Not inside another: a rollback would leave ids that are not in the file. */
    ensure(all: readonly Series[]): void {
      const unknown = all.filter((series) => !ids.has(seriesKey(series)));
      if (unknown.length === 0) return;
      const added = db
        .transaction(() =>
          unknown.map(({ system, metric, probe }) => {
            const id = Number(insert.run(system, metric, probe).lastInsertRowid);
            return { id, series: { system, metric, probe } };
          }),
        )
        .immediate();
      for (const { id, series } of added) remember(id, series);
    },

    all: (): Series[] => [...byId.values()],
    count: (): number => byId.size,
  };
}

export type SeriesTable = ReturnType<typeof seriesTable>;
