import { isMetric, type Metric } from '#rules/quantity/metric.ts';
import { isUnitOf, unitsOf } from '#rules/quantity/unit.ts';
import { Refused } from '../model/refusals/refused.ts';

/** A column of somebody's table that holds one metric, e.g. a log with a column for each probe. */
export type ValueColumn = { column: string; metric: Metric; unit: string | undefined };

/** How the columns of a file are read: our name to theirs, and columns that hold a metric each. */
export type ColumnMap = {
  names: Record<string, string>;
  values: ValueColumn[];
};

/**
 * @param pairs   `our=theirs`, e.g. `time=Date and time`
 * @param values  `metric=theirs` or `metric:unit=theirs`, e.g. `temperature:°F=Tank temp`
 * @param known   our names that this kind of file has
 * @throws Refused  naming what was found and what is allowed
 */
export function columnMap(pairs: readonly string[], values: readonly string[], known: readonly string[]): ColumnMap {
  const names: Record<string, string> = {};
  for (const pair of pairs) {
    const [ours, theirs] = halves(pair, 'our_name=their column');
    if (!known.includes(ours))
      throw new Refused(
        'wrong_usage',
        `--column ${pair}: this kind of file has no "${ours}", it has: ${known.join(', ')}`,
      );
    names[ours] = theirs;
  }
  return { names, values: values.map(valueColumn) };
}

function halves(pair: string, form: string): [string, string] {
  const at = pair.indexOf('=');
  if (at <= 0 || at === pair.length - 1) throw new Refused('wrong_usage', `"${pair}": write it as ${form}`);
  return [pair.slice(0, at).trim(), pair.slice(at + 1).trim()];
}

function valueColumn(pair: string): ValueColumn {
  const [what, column] = halves(pair, 'metric=their column, or metric:unit=their column');
  const [metric = '', unit] = what.split(':', 2);
  if (!isMetric(metric)) throw new Refused('wrong_usage', `--value ${pair}: there is no metric "${metric}"`);
  if (unit !== undefined && !isUnitOf(metric, unit))
    throw new Refused(
      'wrong_usage',
      `--value ${pair}: ${metric} has no unit "${unit}", it has: ${unitsOf(metric).join(', ')}`,
    );
  return { column, metric, unit };
}

/** The cell of one of our columns under whatever name the file gives it; empty when it is absent. */
export function cellOf(map: ColumnMap, cells: Record<string, string>, ours: string): string {
  return columnsFor(map.names[ours] ?? ours, ours, Object.keys(cells))
    .map((name) => (cells[name] ?? '').trim())
    .join(' ')
    .trim();
}

/** Of a time the day and the hour may stand in a column each: `time=Date+Hour`. */
function columnsFor(theirs: string, ours: string, columns: readonly string[]): string[] {
  return ours === 'time' && !columns.includes(theirs) ? theirs.split('+').map((name) => name.trim()) : [theirs];
}

/**
 * Columns that were asked for by name and that the file does not have.
 */
export function missingColumns(map: ColumnMap, columns: readonly string[]): string[] {
  const named = Object.entries(map.names).flatMap(([ours, theirs]) => columnsFor(theirs, ours, columns));
  const asked = [...named, ...map.values.map(({ column }) => column)];
  return asked.filter((name) => !columns.includes(name));
}
