import type { ColumnMap } from './column-map.ts';
import type { EntryKind } from './import-entries.ts';

/** Of each group one column must be there. */
const groupsOf: Record<'readings' | EntryKind, readonly (readonly string[])[]> = {
  readings: [['time'], ['system'], ['metric'], ['value']],
  tests: [['time'], ['system'], ['analyte'], ['value']],
  doses: [['time'], ['system'], ['substance', 'stock'], ['grams', 'ml']],
  'water-changes': [['time'], ['system'], ['volume_l']],
};

/** Columns that a value column stands for: it is of one metric and holds its numbers. */
const givenByValueColumn = new Set(['metric', 'analyte', 'value']);

/**
 * What is wrong with a header under which no row could be taken; undefined when all columns that are needed are there.
 *
 * @param hasSystem  the system of rows that name none was given
 */
export function headerProblem(
  kind: 'readings' | EntryKind,
  columns: readonly string[],
  map: ColumnMap,
  hasSystem: boolean,
): string | undefined {
  const has = (ours: string) =>
    Object.hasOwn(map.names, ours) ||
    columns.includes(ours) ||
    (ours === 'system' && hasSystem) ||
    (map.values.length > 0 && givenByValueColumn.has(ours));
  const words = (group: readonly string[]) => group.join(' or ');
  const groups = groupsOf[kind];
  const missing = groups.filter((group) => !group.some(has));
  if (missing.length === 0) return undefined;
  const shown = columns.join(', ').slice(0, 200);
  const ways = [`Say what the file calls a column with --column ${missing[0]![0]}="its name"`];
  if (missing.some(([ours]) => ours === 'system')) ways.push('name the system of all rows with --system');
  if (missing.some(([ours]) => givenByValueColumn.has(ours!)))
    ways.push(
      `name a column that holds one metric with --value ${kind === 'tests' ? 'alkalinity' : 'temperature'}="its name"`,
    );
  return `its header is ${shown}; need ${groups.map(words).join(', ')}; missing ${missing.map(words).join(', ')}. ${ways.join(', or ')}.`;
}
