import type { Store } from '#adapters/ports/store.ts';
import type { Table } from '#adapters/ports/tables.ts';
import type { Reading, Series } from '#rules/quality/reading.ts';
import type { StreamState } from '#rules/quality/stream-check.ts';
import { checkReading, defaultChecks, emptyStreamState, type StreamChecks } from '#rules/quality/stream-check.ts';
import { isMetric, type Metric, metricFacts } from '#rules/quantity/metric.ts';
import { toStoreUnit } from '#rules/quantity/unit.ts';
import type { Config } from '../model/config/schema.ts';
import { type ColumnMap, cellOf, type ValueColumn } from './column-map.ts';
import type { ImportReport } from './import-report.ts';
import { notNumberReason, notTimeReason, numberOfCell, type TimeWriting, timeMsOfCell } from './time-of-cell.ts';

export const readingColumns = ['time', 'system', 'metric', 'value', 'unit'] as const;

export type ReadingImport = {
  config: Config;
  store: Pick<Store, 'add' | 'flush' | 'readings'>;
  map: ColumnMap;
  writing: TimeWriting;
  isCommaDecimal: boolean;
  /** The system of rows that name none. */
  system: string | undefined;
  /** The probe of all readings; the configured one of the metric when absent. */
  probe: string | undefined;
  nowMs: number;
  isDryRun: boolean;
  report: ImportReport;
};

type Stream = { series: Series; checks: StreamChecks; state: StreamState };
type RowText = { time: string; system: string; metric: string; value: string; unit: string };
type Found = { row: number; stream: Stream; timeMs: number; value: number };

/** Readings that are held against the store, and then added to it, at once. */
const readingsInBatch = 4096;
/** The store deletes raw readings by age and keeps their summaries; before the year 2000 a clock was wrong. */
const oldestMs = Date.UTC(2000, 0, 1);
const aheadMostMs = 5 * 60_000;

/**
 * Readings of a table into the store, each with its quality flag, as if the probe had sent them then; no alarm is raised
 * for what is past. A row gives one reading (`metric` and `value`), or one for each of the value columns.
 *
 * Is: repeatable, since a reading that the store has of that probe and time is never taken again nor changed.
 * Is not: sent to the time-series server; put in order first, so that a file in order is judged best.
 */
export async function importReadings(table: Table, given: ReadingImport): Promise<void> {
  const { config, store, report, nowMs, isDryRun } = given;
  const streams = new Map<string, Stream | string>();
  const isSeen = new Set<string>();
  let batch: Found[] = [];

  function streamOf(system: string, metric: string): Stream | string {
    const key = `${system}\0${metric}`;
    const known = streams.get(key);
    if (known !== undefined) return known;
    const made = newStream(config, system, metric, given.probe);
    streams.set(key, made);
    return made;
  }

  function take(row: number, text: RowText): void {
    const read = readRow(row, text);
    if ('reason' in read) {
      report.left(row, read.reason, read.found);
      return;
    }
    batch.push(read);
    if (batch.length >= readingsInBatch) settle();
  }

  function readRow(row: number, text: RowText): Found | { reason: string; found: string } {
    const timeMs = timeMsOfCell(text.time, given.writing);
    if (timeMs === undefined) return { reason: notTimeReason(given.writing), found: text.time };
    if (timeMs > nowMs + aheadMostMs || timeMs < oldestMs)
      return { reason: 'a time before 2000 or in the future', found: text.time };
    const stream = streamOf(text.system, text.metric);
    if (typeof stream === 'string') return { reason: stream, found: `${text.system} ${text.metric}` };
    const number = numberOfCell(text.value, given.isCommaDecimal);
    if (number === undefined) return { reason: notNumberReason, found: text.value };
    try {
      const value = text.unit === '' ? number : toStoreUnit(stream.series.metric, number, text.unit);
      return { row, stream, timeMs, value };
    } catch (error) {
      return { reason: error instanceof Error ? error.message : String(error), found: text.value };
    }
  }

  /** What the store has is left as it is; the rest is flagged and added. */
  function settle(): void {
    const known = knownTimes(store, batch);
    const readings: Reading[] = [];
    for (const { row, stream, timeMs, value } of batch) {
      const { series } = stream;
      const what = `readings of ${series.system} ${series.metric} (probe ${series.probe})`;
      const key = `${series.system}\0${series.metric}\0${timeMs}`;
      if (known.has(key)) report.wasThere(what);
      else if (isSeen.has(key)) report.left(row, 'a second value for the same time', String(value));
      else {
        readings.push({ series, timeMs, quality: checkReading(stream.checks, stream.state, value, timeMs) });
        report.took(what, timeMs);
      }
      isSeen.add(key);
    }
    if (!isDryRun && readings.length > 0) {
      store.add(readings);
      store.flush();
    }
    // Those of this batch are in the store now; a dry run has nowhere else to remember them.
    if (!isDryRun) isSeen.clear();
    batch = [];
  }

  for await (const { row, cells, problem } of table.rows) {
    if (problem !== undefined) {
      report.left(row, problem, '');
      continue;
    }
    const time = cellOf(given.map, cells, 'time');
    const named = cellOf(given.map, cells, 'system');
    const system = named === '' ? (given.system ?? '') : named;
    const values = given.map.values;
    if (values.length === 0) {
      const cell = (name: string) => cellOf(given.map, cells, name);
      take(row, { time, system, metric: cell('metric'), value: cell('value'), unit: cell('unit') });
    }
    for (const each of values) takeColumn(row, each, cells, time, system);
  }
  settle();

  function takeColumn(
    row: number,
    { column, metric, unit }: ValueColumn,
    cells: Record<string, string>,
    time: string,
    system: string,
  ): void {
    const value = (cells[column] ?? '').trim();
    // A log with a column for each probe has gaps: an empty cell is no reading and no fault.
    if (value !== '') take(row, { time, system, metric, value, unit: unit ?? metricFacts[metric].unit });
  }
}

/** The stream that readings of a metric belong to, or why there is none. */
function newStream(config: Config, system: string, metric: string, probe: string | undefined): Stream | string {
  if (!config.systems.some(({ id }) => id === system))
    return system === '' ? 'no system: name a column for it, or give --system' : `no system "${system}" is configured`;
  if (!isMetric(metric)) return `there is no metric "${metric}"`;
  const own = probesOf(config, system, metric);
  if (probe === undefined && own.length > 1)
    return `${system} has several probes for ${metric}: name one with --probe (${own.join(', ')})`;
  const series = { system, metric, probe: probe ?? own[0] ?? 'imported' };
  return { series, checks: defaultChecks(metric), state: emptyStreamState() };
}

/** A recorded salinity is what the system's conductivity probe gave. */
function probesOf(config: Config, system: string, metric: Metric): string[] {
  const from: readonly Metric[] =
    metric === 'salinity' || metric === 'specific_gravity'
      ? [metric, 'conductivity', 'specific_conductance_25']
      : [metric];
  return config.probes.filter((each) => each.system === system && from.includes(each.metric)).map(({ id }) => id);
}

/** Which of these readings the store has already, by series and time. */
function knownTimes(store: Pick<Store, 'readings'>, batch: readonly Found[]): Set<string> {
  const spans = new Map<Series, { fromMs: number; toMs: number }>();
  for (const { stream, timeMs } of batch) {
    const span = spans.get(stream.series) ?? { fromMs: timeMs, toMs: timeMs };
    spans.set(stream.series, { fromMs: Math.min(span.fromMs, timeMs), toMs: Math.max(span.toMs, timeMs) });
  }
  const known = new Set<string>();
  for (const [series, { fromMs, toMs }] of spans) {
    for (const { timeMs } of store.readings(series, fromMs, toMs + 1))
      known.add(`${series.system}\0${series.metric}\0${timeMs}`);
  }
  return known;
}
