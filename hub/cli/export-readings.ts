import type { Series } from '#rules/quality/reading.ts';
import { timeMsOfCell } from '../import/time-of-cell.ts';
import type { Config } from '../model/config/schema.ts';
import { noSystemText } from '../model/refusals/no-system.ts';
import { Refused } from '../model/refusals/refused.ts';
import { storedReadings, streamsToExport } from '../reports/replay/stored-readings.ts';
import { onCopyOfStore } from './copy-of-store.ts';
import { type ExportedEntries, entryRows, exportedColumns } from './export-entries.ts';
import type { Terminal } from './terminal.ts';
import type { VerbAdapters } from './verb-adapters.ts';

export type ReadingsOptions = { from?: string; to?: string; system?: string };
export type RowsKind = 'readings' | ExportedEntries;

/**
 * Writes raw readings, tests or doses to standard output as `replay` and `import` read them, from a checked copy of the store.
 *
 * Is not: able to give readings younger than the last flush of a running hub.
 */
export async function exportRows(
  kind: RowsKind,
  config: Config,
  options: ReadingsOptions,
  adapters: VerbAdapters,
  terminal: Terminal,
): Promise<void> {
  const { fromMs, toMs } = spanOf(kind, config, options, adapters.hub.clock.nowMs());
  const ids = config.systems.map(({ id }) => id);
  if (options.system !== undefined && !ids.includes(options.system))
    throw new Refused('wrong_usage', noSystemText(options.system, config.systems));
  const asked = { fromMs, toMs, system: options.system };
  await onCopyOfStore(config, adapters, terminal, (copy) =>
    kind === 'readings'
      ? writeReadings(config, copy, asked, adapters, terminal)
      : writeEntries(kind, config, copy, asked, adapters, terminal),
  );
}

async function writeReadings(
  config: Config,
  path: string,
  { fromMs, toMs, system }: { fromMs: number; toMs: number; system: string | undefined },
  { hub, tables }: VerbAdapters,
  terminal: Terminal,
): Promise<void> {
  const store = hub.openStore({ path, flushMs: config.flush_seconds * 1000, onFault: () => {} });
  try {
    const { streams, others } = streamsToExport(config, store.series(), system);
    // A month holds millions of rows, and all but their times and values is the same for each stream.
    const names = new Map<Series, string>(
      streams.map((series) => [series, tables.line([series.system, series.metric]).trimEnd()]),
    );
    let count = 0;
    await tables.write(terminal.output, tables.line(['time', 'system', 'metric', 'value']));
    for (const rows of storedReadings(store, streams, fromMs, toMs)) {
      const lines = rows.map(
        ({ timeMs, series, value }) => `${new Date(timeMs).toISOString()},${names.get(series)},${value}\r\n`,
      );
      await tables.write(terminal.output, lines.join(''));
      count += rows.length;
    }
    for (const { system: of, metric, probe } of others)
      terminal.complain(`left out: ${of} ${metric} of ${probe}, another probe for the same metric`);
    if (count === 0) throw new Refused('not_done', 'no readings in that time');
    terminal.complain(`${count} readings`);
  } finally {
    store.close();
  }
}

async function writeEntries(
  kind: ExportedEntries,
  config: Config,
  path: string,
  asked: { fromMs: number; toMs: number; system: string | undefined },
  { hub, tables }: VerbAdapters,
  terminal: Terminal,
): Promise<void> {
  const store = hub.openStore({ path, flushMs: config.flush_seconds * 1000, onFault: () => {} });
  try {
    let count = 0;
    await tables.write(terminal.output, tables.line(exportedColumns(kind)));
    for (const rows of entryRows(store, kind, asked)) {
      await tables.write(terminal.output, rows.map((row) => tables.line(row)).join(''));
      count += rows.length;
    }
    if (count === 0) throw new Refused('not_done', `no ${kind} in that time`);
    terminal.complain(`${count} ${kind}`);
  } finally {
    store.close();
  }
}

function spanOf(
  kind: RowsKind,
  config: Config,
  { from, to }: ReadingsOptions,
  nowMs: number,
): { fromMs: number; toMs: number } {
  if (from === undefined && kind === 'readings')
    throw new Refused('wrong_usage', '--readings needs --from, a day such as 2026-11-01 or a time');
  // A year of readings is a lot; of tests there are few.
  const fromMs = from === undefined ? 0 : timeOf('--from', from, config);
  const toMs = to === undefined ? nowMs : timeOf('--to', to, config);
  if (toMs <= fromMs) throw new Refused('wrong_usage', '--to must be after --from; the day of --to is not part of it');
  return { fromMs, toMs };
}

function timeOf(flag: string, text: string, config: Config): number {
  const timeMs = timeMsOfCell(text, { zone: config.site.timezone, pattern: undefined });
  if (timeMs === undefined)
    throw new Refused(
      'wrong_usage',
      `${flag}: found "${text}", need a day such as 2026-11-01 or a time such as 2026-11-01T09:30`,
    );
  return timeMs;
}
