import type { Store } from '#adapters/ports/store.ts';
import { dayMs } from '#rules/clock/durations.ts';
import { defined } from '#rules/plain-data/defined.ts';
import { metricFacts } from '#rules/quantity/metric.ts';
import { entryColumns } from '../import/import-entries.ts';
import { type Entry, readJournal } from '../model/journal/journal.ts';

export type ExportedEntries = 'tests' | 'doses';
type Asked = { fromMs: number; toMs: number; system: string | undefined };
type Row = (string | number)[];

/** As many days are in memory at a time. */
const spanMs = 30 * dayMs;

export const exportedColumns = (kind: ExportedEntries): string[] => [...entryColumns[kind]];

/**
 * Tests or doses that count, in the columns that `import` reads, some at a time. What was corrected or taken back is left out.
 *
 * Is not: whole in two places. The scale of a hydrometer and who entered a row are not in the columns, and a note that a
 * spreadsheet would run as a formula gets an apostrophe in front.
 */
export function* entryRows(
  store: Pick<Store, 'journal'>,
  kind: ExportedEntries,
  { fromMs, toMs, system }: Asked,
): Generator<Row[], void, undefined> {
  const of = defined({ system });
  const firstFrom = (timeMs: number) => {
    const query = { ...of, fromMs: timeMs, toMs, limit: 1 };
    const [first] =
      kind === 'tests'
        ? readJournal(store, { ...query, kind: 'test' })
        : readJournal(store, { ...query, kind: 'dose' });
    return first?.timeMs ?? toMs;
  };
  for (let startMs = firstFrom(fromMs); startMs < toMs; startMs = firstFrom(startMs + spanMs)) {
    const query = { ...of, fromMs: startMs, toMs: Math.min(startMs + spanMs, toMs) };
    yield kind === 'tests'
      ? readJournal(store, { ...query, kind: 'test' }).map(testRow)
      : readJournal(store, { ...query, kind: 'dose' }).map(doseRow);
  }
}

/** As it was typed; with an uncertainty, or read on a hydrometer's scale, in the unit of the store that the columns can hold. */
function testRow({ timeMs, system, body }: Entry<'test'>): Row {
  const { analyte, value, given_value, given_unit, sd, sg_scale, note } = body;
  const isAsTyped = sd === undefined && sg_scale === undefined;
  return [
    ...[new Date(timeMs).toISOString(), system, analyte, isAsTyped ? given_value : value],
    ...[isAsTyped ? given_unit : metricFacts[analyte].unit, sd ?? '', note ?? ''],
  ];
}

function doseRow({ timeMs, system, body }: Entry<'dose'>): Row {
  const { substance, grams, stock, ml, note } = body;
  return [new Date(timeMs).toISOString(), system, substance ?? '', grams ?? '', stock ?? '', ml ?? '', note ?? ''];
}
