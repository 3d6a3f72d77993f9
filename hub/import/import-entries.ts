import { createHash } from 'node:crypto';
import type * as z from 'zod';
import type { JournalKind, Store } from '#adapters/ports/store.ts';
import type { Table } from '#adapters/ports/tables.ts';
import { substances } from '#rules/dosing/substances.ts';
import { defined } from '#rules/plain-data/defined.ts';
import { createEntries } from '../flow/entries/enter.ts';
import type { Config } from '../model/config/schema.ts';
import { doseEntrySchema, testEntrySchema, waterChangeEntrySchema } from '../model/entries/entry-schemas.ts';
import { type Entry, readEntry, readJournal } from '../model/journal/journal.ts';
import { type ColumnMap, cellOf } from './column-map.ts';
import type { ImportReport } from './import-report.ts';
import { notNumberReason, notTimeReason, numberOfCell, type TimeWriting, timeMsOfCell } from './time-of-cell.ts';

export const entryKinds = ['tests', 'doses', 'water-changes'] as const;
export type EntryKind = (typeof entryKinds)[number];

export const entryColumns: Record<EntryKind, readonly string[]> = {
  tests: ['time', 'system', 'analyte', 'value', 'unit', 'sd', 'note'],
  doses: ['time', 'system', 'substance', 'grams', 'stock', 'ml', 'note'],
  'water-changes': [
    ...['time', 'system', 'volume_l', 'alkalinity_dkh', 'calcium_mg_l', 'magnesium_mg_l', 'salinity', 'note'],
  ],
};

const numbers = new Set([
  'value',
  'sd',
  'grams',
  'ml',
  'volume_l',
  'alkalinity_dkh',
  'calcium_mg_l',
  'magnesium_mg_l',
  'salinity',
]);

export type EntryImport = {
  config: Config;
  store: Pick<Store, 'commit' | 'journal'>;
  map: ColumnMap;
  writing: TimeWriting;
  isCommaDecimal: boolean;
  system: string | undefined;
  nowMs: number;
  isDryRun: boolean;
  report: ImportReport;
};

const journalKind: Record<EntryKind, JournalKind> = { tests: 'test', doses: 'dose', 'water-changes': 'water_change' };

/** By what a row is recognised as the same as a kept entry: when and where, what was done, and how much. */
function placeOf(entry: Entry): string {
  return `${entry.system}\0${entry.timeMs}\0${JSON.stringify(markOf(entry))}`;
}

function markOf(entry: Entry): unknown[] {
  switch (entry.kind) {
    case 'test':
      return [entry.body.analyte, entry.body.given_value, entry.body.given_unit];
    case 'dose':
      return [entry.body.substance, entry.body.grams, entry.body.stock, entry.body.ml];
    case 'water_change':
      return [entry.body.volume_l];
    default:
      return [];
  }
}

/**
 * Tests, doses or water changes of a table into the journal, under the same checks as those typed by hand; the question
 * "is this a slip?" is not asked, since the demand filter weighs an odd test itself.
 *
 * Is: repeatable. A row that is in the journal, imported or typed, is not taken again, nor when it was taken back there.
 */
export async function importEntries(kind: EntryKind, table: Table, given: EntryImport): Promise<void> {
  const { report, store, config } = given;
  const known = new Set(readJournal(store, { kind: journalKind[kind], history: true }).map(placeOf));
  let judged: Entry | undefined;
  const entries = createEntries({
    config,
    // Judged in full, and kept only once it is known to be new.
    store: {
      commit({ entries: fresh = [] }) {
        judged = fresh[0] && readEntry({ ...fresh[0], id: 0 });
        if (judged === undefined || known.has(placeOf(judged))) return [0];
        return given.isDryRun ? [0] : store.commit({ entries: fresh });
      },
      journal: () => [],
    },
    question: () => undefined,
    isKnownSubstance: (substance) => Object.hasOwn(substances, substance),
    entered: () => {},
  });

  for await (const { row, cells, problem } of table.rows) {
    const found = Object.values(cells).join(',');
    const read = problem ?? rowOf(kind, cells, given);
    if (typeof read === 'string') report.left(row, read, found);
    else for (const each of onePerColumn(read, cells, given)) take(row, each, found);
  }

  function take(row: number, read: Record<string, unknown> | string, found: string): void {
    if (typeof read === 'string') {
      report.left(row, read, found);
      return;
    }
    try {
      const kept = enter(read);
      const what = `${journalKind[kind].replace('_', ' ')}s of ${read['system']}`;
      if (kept === undefined) return;
      const place = placeOf(kept);
      if (known.has(place)) report.wasThere(what);
      else {
        known.add(place);
        report.took(what, kept.timeMs);
      }
    } catch (error) {
      report.left(row, error instanceof Error ? error.message : String(error), found);
    }
  }

  function enter(entry: Record<string, unknown>): Entry | undefined {
    judged = undefined;
    const key = `import:${createHash('sha256').update(JSON.stringify(entry)).digest('hex').slice(0, 40)}`;
    const whole = { ...entry, by: 'import', key };
    if (kind === 'tests') entries.test({ ...parsed(testEntrySchema, whole), confirmed: true }, given.nowMs);
    else if (kind === 'doses') entries.dose(parsed(doseEntrySchema, whole), given.nowMs);
    else entries.waterChange(parsed(waterChangeEntrySchema, whole), given.nowMs);
    return judged;
  }
}

/** @throws Error  with the fields that are wrong, each with its reason */
function parsed<T>(schema: z.ZodType<T>, value: unknown): T {
  const result = schema.safeParse(value);
  if (result.success) return result.data;
  throw new Error(result.error.issues.map(({ path, message }) => `${path.join('.') || 'row'}: ${message}`).join('; '));
}

/** A log of tests often has a column for each analyte; an empty cell is no test. */
function onePerColumn(
  entry: Record<string, unknown>,
  cells: Record<string, string>,
  { map: { values }, isCommaDecimal }: Pick<EntryImport, 'map' | 'isCommaDecimal'>,
): (Record<string, unknown> | string)[] {
  if (values.length === 0) return [entry];
  return values.flatMap(({ column, metric, unit }): (Record<string, unknown> | string)[] => {
    const cell = (cells[column] ?? '').trim();
    if (cell === '') return [];
    const value = numberOfCell(cell, isCommaDecimal);
    if (value === undefined) return [`${column}: ${notNumberReason}`];
    return [{ ...entry, analyte: metric, value, ...defined({ unit }) }];
  });
}

function rowOf(kind: EntryKind, cells: Record<string, string>, given: EntryImport): Record<string, unknown> | string {
  const entry: Record<string, unknown> = {};
  for (const name of entryColumns[kind]) {
    const cell = cellOf(given.map, cells, name);
    if (cell === '') continue;
    if (name === 'time') {
      const timeMs = timeMsOfCell(cell, given.writing);
      if (timeMs === undefined) return notTimeReason(given.writing);
      entry['time'] = new Date(timeMs).toISOString();
    } else if (numbers.has(name)) {
      const number = numberOfCell(cell, given.isCommaDecimal);
      if (number === undefined) return `${name}: ${notNumberReason}`;
      entry[name] = number;
    } else entry[name] = cell;
  }
  entry['system'] ??= given.system;
  // Without a time it would be entered as of now.
  if (entry['time'] === undefined) return 'no time';
  if (entry['system'] === undefined) return 'no system: name a column for it, or give --system';
  return entry;
}
