import { createReadStream, mkdirSync } from 'node:fs';
import { join } from 'node:path';
import { type Command, Option } from 'commander';
import { IANAZone } from 'luxon';
import { columnMap, missingColumns } from '../import/column-map.ts';
import { entryColumns, entryKinds, importEntries } from '../import/import-entries.ts';
import { importReadings, readingColumns } from '../import/import-readings.ts';
import { importReport } from '../import/import-report.ts';
import { headerProblem } from '../import/needed-columns.ts';
import type { Config } from '../model/config/schema.ts';
import { Refused } from '../model/refusals/refused.ts';
import { refuseWhileHubRuns } from './hub-stopped.ts';
import { importWhole } from './import-whole.ts';
import { defaultConfigPath, readConfig } from './read-config.ts';
import { refuseUnreadable } from './readable-file.ts';
import { refuseOneColumn, separatorOf } from './separator.ts';
import type { Terminal } from './terminal.ts';
import type { VerbAdapters } from './verb-adapters.ts';

type Rows = 'readings' | (typeof entryKinds)[number];
type Options = {
  config: string;
  as: Rows | 'everything';
  column: string[];
  value: string[];
  system?: string;
  probe?: string;
  zone?: string;
  time?: string;
  separator: string;
  dryRun?: boolean;
  replace?: boolean;
};

const gather = (value: string, before: string[]) => [...before, value];

/** `brinekeep import FILE...`: the history of another record, with a dry run that says what would be taken, what not and why. */
export function addImportVerb(program: Command, adapters: VerbAdapters, terminal: Terminal): void {
  program
    .command('import')
    .description(
      'import readings, tests, doses or water changes from CSV files, or a whole record; the hub must be stopped',
    )
    .argument('<files...>', 'CSV files with a header, or the file from export --everything')
    .addOption(
      new Option('--as <kind>', 'what the rows are')
        .choices(['readings', ...entryKinds, 'everything'])
        .makeOptionMandatory(),
    )
    .option('--config <file>', 'configuration of the hub', defaultConfigPath)
    .option('--dry-run', 'only list what would be imported, what not and why')
    .option('--replace', 'with --as everything: move the present store and photos aside')
    .option(
      '--column <ours=theirs>',
      'what the file calls one of our columns; repeatable; time=Day+Hour where two columns make the time',
      gather,
      [],
    )
    .option('--value <metric[:unit]=theirs>', 'a column that holds one metric; repeatable', gather, [])
    .option('--system <id>', 'the system of rows that name none')
    .option('--probe <id>', 'the probe of all readings; the configured one of the metric when left out')
    .option('--zone <zone>', "IANA zone of times that name none; the site's when left out")
    .option('--time <pattern>', 'how times are written, e.g. "dd.MM.yyyy HH:mm"; ISO 8601 when left out')
    .option('--separator <sign>', 'character between cells, such as ; or tab', separatorOf, ',')
    .addHelpText('after', examples)
    .action((files: string[], options: Options) => importFiles(files, options, adapters, terminal));
}

const examples = `
Columns: readings ${readingColumns.join(',')}; tests ${entryColumns.tests.join(',')};
doses ${entryColumns.doses.join(',')}; water-changes ${entryColumns['water-changes'].join(',')}.
A row that was imported before, or entered by hand, is skipped. Nothing is sent to a time-series server.
With any separator but a comma, a comma within a number is a decimal comma.

  brinekeep import --as readings --system display --dry-run --time "MM/dd/yyyy HH:mm" \\
    --column "time=Date" --value "temperature:°F=Tank temp" --value "ph=pH" log.csv
  brinekeep import --as tests --system display --column "time=Day" --value "alkalinity:meq/L=Alk" notebook.csv`;

async function importFiles(
  files: readonly string[],
  options: Options,
  adapters: VerbAdapters,
  terminal: Terminal,
): Promise<void> {
  const config = readConfig(options.config, terminal);
  if (options.as === 'everything') return importEverything(files, config, options, adapters, terminal);
  if (options.replace === true) throw new Refused('wrong_usage', '--replace goes with --as everything');
  await importTables(files, config, options.as, options, adapters, terminal);
}

async function importEverything(
  files: readonly string[],
  config: Config,
  options: Options,
  adapters: VerbAdapters,
  terminal: Terminal,
): Promise<void> {
  const [file = '', ...more] = files;
  if (more.length > 0) throw new Refused('wrong_usage', `a whole record is one file; found ${files.join(', ')}`);
  refuseUnreadable(file);
  await refuseWhileHubRuns(config, 'since only one process may write to the store');
  mkdirSync(config.data_dir, { recursive: true });
  const asked = { isDryRun: options.dryRun === true, isReplace: options.replace === true };
  await importWhole(file, config, asked, adapters, terminal);
}

async function importTables(
  files: readonly string[],
  config: Config,
  as: Rows,
  options: Options,
  adapters: VerbAdapters,
  terminal: Terminal,
): Promise<void> {
  const zone = options.zone ?? config.site.timezone;
  if (!IANAZone.isValidZone(zone)) throw new Refused('wrong_usage', `--zone: there is no time zone "${zone}"`);
  const map = mapOf(as, options);
  refuseUnreadable(...files);
  await refuseWhileHubRuns(config, 'since only one process may write to the store');
  const path = join(config.data_dir, 'brinekeep.db');
  mkdirSync(config.data_dir, { recursive: true });
  const { clock } = adapters.hub;
  const isDryRun = options.dryRun === true;
  const store = adapters.hub.openStore({
    path,
    flushMs: config.flush_seconds * 1000,
    onFault: ({ detail }) => terminal.complain(detail),
  });
  try {
    for (const file of files) {
      const report = importReport(file);
      const given = {
        config,
        store,
        map,
        report,
        isDryRun,
        system: options.system,
        nowMs: clock.nowMs(),
        writing: { zone, pattern: options.time },
        isCommaDecimal: options.separator !== ',',
      };
      const table = await adapters.tables.read(createReadStream(file), options.separator);
      refuseOneColumn(file, table.columns);
      const missing = missingColumns(map, table.columns);
      if (missing.length > 0)
        throw new Refused(
          'wrong_usage',
          `${file}: there is no column ${missing.map((name) => `"${name}"`).join(', ')}; it has: ${table.columns.join(', ')}`,
        );
      const problem = headerProblem(as, table.columns, map, options.system !== undefined);
      if (problem !== undefined) throw new Refused('not_done', `${file}: ${problem}`);
      if (as === 'readings') await importReadings(table, { ...given, probe: options.probe });
      else await importEntries(as, table, given);
      for (const line of report.lines(isDryRun)) terminal.print(line);
      if (report.leftOut > 0) process.exitCode = 1;
    }
  } catch (error) {
    const code = error instanceof Error && 'code' in error ? error.code : undefined;
    if (error instanceof Error && code === 'TABLE_UNREADABLE') throw new Refused('wrong_usage', error.message);
    throw error;
  } finally {
    store.close();
  }
}

function mapOf(as: Rows, options: Options) {
  const known = as === 'readings' ? readingColumns : entryColumns[as];
  if (options.value.length > 0 && !['readings', 'tests'].includes(as))
    throw new Refused('wrong_usage', `--value: ${as} have no metric of their own`);
  try {
    return columnMap(options.column, options.value, known);
  } catch (error) {
    if (error instanceof Refused) throw new Refused('wrong_usage', error.message);
    throw error;
  }
}
