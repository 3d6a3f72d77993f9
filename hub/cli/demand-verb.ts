import { createReadStream } from 'node:fs';
import { type Command, Option } from 'commander';
import type { Tables } from '#adapters/ports/tables.ts';
import { type DoseRow, estimateSeries, type TestRow, type WaterChangeRow } from '#rules/dosing/demand-series.ts';
import { substanceNamed } from '#rules/dosing/substances.ts';
import { defined } from '#rules/plain-data/defined.ts';
import { isMetric } from '#rules/quantity/metric.ts';
import { toStoreUnit } from '#rules/quantity/unit.ts';
import { type DemandAnalyte, demandAnalytes } from '#rules/trend/demand-facts.ts';
import { isoTimeMs } from '../model/calendar/iso-time.ts';
import { Refused } from '../model/refusals/refused.ts';
import { type Given, givenFrom, resultText } from '../reports/calc/calculation.ts';
import { refuseUnreadable } from './readable-file.ts';
import type { Terminal } from './terminal.ts';
import type { VerbAdapters } from './verb-adapters.ts';

type DemandOptions = {
  volume: string;
  tests: string;
  doses?: string;
  waterChanges?: string;
  analyte: DemandAnalyte;
  resolution?: string;
};

const columns = ['time', 'system', 'analyte', 'level', 'level_sd', 'demand_per_day', 'demand_sd', 'suspect'];

/** Rows of a file as cases; a bad row is told with its number and left out, the good ones go on. */
async function rowsOf<Row>(
  tables: Tables,
  path: string | undefined,
  terminal: Terminal,
  toRow: (given: Given, cells: Record<string, string>) => Row,
): Promise<{ rows: Row[]; refused: number }> {
  const rows: Row[] = [];
  let refused = 0;
  if (path === undefined) return { rows, refused };
  refuseUnreadable(path);
  const table = await tables.read(createReadStream(path)).catch((error: Error) => {
    throw new Refused('wrong_usage', `${path}: ${error.message}`);
  });
  for await (const { row, cells, problem } of table.rows) {
    try {
      if (problem !== undefined) throw new Refused('no_answer', problem);
      rows.push(toRow(givenFrom(cells), cells));
    } catch (error) {
      refused += 1;
      terminal.complain(`${path} row ${row}: ${error instanceof Error ? error.message : String(error)}`);
    }
  }
  return { rows, refused };
}

function timeOf(text: string | undefined): number {
  const timeMs = isoTimeMs(text);
  if (timeMs === undefined) throw new Refused('no_answer', `time: found "${(text ?? '').slice(0, 40)}", need ISO 8601`);
  return timeMs;
}

function testRow(given: Given, cells: Record<string, string>): TestRow {
  const analyte = cells['analyte']?.trim() ?? '';
  if (!isMetric(analyte))
    throw new Refused('no_answer', `analyte: found "${analyte.slice(0, 40)}", need one that Brinekeep knows`);
  const unit = cells['unit']?.trim() ?? '';
  const inUnit = (value: number) => (unit === '' ? value : toStoreUnit(analyte, value, unit));
  const sd = given.optionalNumber('sd');
  return {
    timeMs: timeOf(cells['time']),
    system: cells['system'] ?? '',
    analyte,
    value: inUnit(given.number('value')),
    ...(sd === undefined ? {} : { sd: inUnit(sd) - inUnit(0) }),
  };
}

function doseRow(given: Given, cells: Record<string, string>): DoseRow {
  const substance = cells['substance'] ?? '';
  if (substanceNamed(substance) === undefined) {
    throw new Refused(
      'no_answer',
      `substance: found "${substance.slice(0, 40)}", need one from the table of substances`,
    );
  }
  const grams = given.number('grams');
  if (grams < 0) throw new Refused('no_answer', `grams: found ${grams}, need 0 or more`);
  return { timeMs: timeOf(cells['time']), system: cells['system'] ?? '', substance, grams };
}

function waterChangeRow(given: Given, cells: Record<string, string>): WaterChangeRow {
  const optional = {
    alkalinity_dKH: given.optionalNumber('alkalinity_dkh'),
    calcium_mg_L: given.optionalNumber('calcium_mg_l'),
    magnesium_mg_L: given.optionalNumber('magnesium_mg_l'),
  };
  const volumeL = given.number('volume_l');
  if (volumeL < 0) throw new Refused('no_answer', `volume_l: found ${volumeL}, need 0 or more`);
  const known = Object.fromEntries(Object.entries(optional).filter(([, value]) => value !== undefined));
  return { timeMs: timeOf(cells['time']), system: cells['system'] ?? '', volumeL, ...known };
}

function positive(text: string | undefined, name: string): number | undefined {
  if (text === undefined) return undefined;
  const value = Number(text);
  if (!(value > 0 && Number.isFinite(value)))
    throw new Refused('wrong_usage', `--${name}: found "${text}", need a number above 0`);
  return value;
}

async function estimate(options: DemandOptions, tables: Tables, terminal: Terminal): Promise<void> {
  const volumeL = positive(options.volume, 'volume') ?? 0;
  const resolution = positive(options.resolution, 'resolution');
  const tests = await rowsOf(tables, options.tests, terminal, testRow);
  const doses = await rowsOf(tables, options.doses, terminal, doseRow);
  const changes = await rowsOf(tables, options.waterChanges, terminal, waterChangeRow);
  const rows = estimateSeries(tests.rows, doses.rows, changes.rows, {
    volumeL,
    analyte: options.analyte,
    ...defined({ resolution }),
  });
  await tables.write(terminal.output, tables.line(columns));
  for (const row of rows) {
    const numbers = [row.level, row.levelSd, row.demandPerDay, row.demandSd].map(resultText);
    const line = [new Date(row.timeMs).toISOString(), row.system, row.analyte, ...numbers, String(row.suspect)];
    await tables.write(terminal.output, tables.line(line));
  }
  if (tests.refused + doses.refused + changes.refused > 0) process.exitCode = 1;
}

/** `brinekeep demand`: level and demand at each test, computed only from what was known by then. */
export function addDemandVerb(program: Command, adapters: VerbAdapters, terminal: Terminal): void {
  program
    .command('demand')
    .description('estimate level and demand at each test from files of tests, doses and water changes')
    .requiredOption('--volume <litres>', 'net water volume')
    .requiredOption('--tests <file>', 'CSV: time,system,analyte,value,unit,sd')
    .option('--doses <file>', 'CSV: time,system,substance,grams')
    .option('--water-changes <file>', 'CSV: time,system,volume_l,alkalinity_dkh,calcium_mg_l,magnesium_mg_l,salinity')
    .addOption(new Option('--analyte <name>', 'the one to follow').choices([...demandAnalytes]).default('alkalinity'))
    .option('--resolution <number>', "smallest step of the kit's scale, in the analyte's unit")
    .option('--csv', 'always CSV')
    .action((options: DemandOptions) => estimate(options, adapters.tables, terminal));
}
