import { existsSync } from 'node:fs';
import { join } from 'node:path';
import type { Command } from 'commander';
import { isIsoWeek, isoWeekAt, weekAfter } from '../model/calendar/iso-week.ts';
import type { Config } from '../model/config/schema.ts';
import { Refused } from '../model/refusals/refused.ts';
import { createWeekReviews } from '../reports/week/week-reviews.ts';
import type { WeekFile } from '../reports/week/weekly-files.ts';
import { exportRows, type ReadingsOptions } from './export-readings.ts';
import { exportRecord } from './export-record.ts';
import { askRunningHub, type HubPlace, isHubThere, tokenFlag } from './hub-connection.ts';
import { defaultConfigPath, readConfig } from './read-config.ts';
import type { Terminal } from './terminal.ts';
import type { VerbAdapters } from './verb-adapters.ts';

type WeekOptions = { week?: string; out?: string; review?: boolean; tokenFile?: string };
type Options = WeekOptions &
  ReadingsOptions & { readings?: boolean; tests?: boolean; doses?: boolean; everything?: boolean };

const routes = ['daily.csv', 'tests-doses.csv', 'alarms.csv', 'corals.csv', 'demand.csv'];
/** Only there when there was something to tell. */
const optionalRoute = 'corals.csv';
const reviewRoute = 'review.html';

/** From the hub that runs: one process has the store open. Undefined when none answers. */
async function fromRunningHub(
  config: Config,
  place: HubPlace,
  week: string,
  withReview: boolean,
  terminal: Terminal,
): Promise<WeekFile[] | undefined> {
  if (!(await isHubThere(config.http))) return undefined;
  const files: WeekFile[] = [];
  for (const route of withReview ? [...routes, reviewRoute] : routes) {
    const { status, text, fileName } = await askRunningHub(place, terminal, 'GET', `/api/weeks/${week}/${route}`);
    if (route === optionalRoute && status === 404) continue;
    if (status !== 200 || fileName === undefined)
      throw new Refused('not_done', `the hub has no file ${route} for ${week}`);
    files.push({ name: fileName, text });
  }
  return files;
}

function fromStore(config: Config, week: string, withReview: boolean, adapters: VerbAdapters): WeekFile[] {
  const path = join(config.data_dir, 'brinekeep.db');
  if (!existsSync(path)) throw new Refused('not_done', `${path}: there is no store yet, so there is nothing to export`);
  const { clock } = adapters.hub;
  const store = adapters.hub.openStore({ path, flushMs: config.flush_seconds * 1000, onFault: () => {} });
  try {
    const { line } = adapters.tables;
    const reviews = createWeekReviews({
      config,
      store,
      line,
      units: () => config.display_units,
      isInvented: false,
      nowMs: () => clock.nowMs(),
    });
    if (withReview) return reviews.files(week);
    const demand = reviews.demand(week);
    return [...reviews.tables(week), ...(demand === undefined ? [] : [demand])];
  } finally {
    store.close();
  }
}

const rowsKinds = ['readings', 'tests', 'doses'] as const;
const kinds = [...rowsKinds, 'everything'] as const;

/** Flags of one kind of export mean nothing to the other. */
function refuseMixed(options: Options): void {
  const ofWeek = ['week', 'review', 'out'] as const;
  const ofReadings = ['from', 'to', 'system'] as const;
  const [kind, ...more] = kinds.filter((each) => options[each] === true);
  if (more.length > 0) throw new Refused('wrong_usage', `one file at a time: --${[kind, ...more].join(' or --')}`);
  const given = (names: readonly (keyof Options)[]) => names.find((name) => options[name] !== undefined);
  if (kind === undefined) {
    const foreign = given(ofReadings);
    if (foreign === undefined) return;
    throw new Refused(
      'wrong_usage',
      `--${foreign} goes with --readings, --tests or --doses; a week is named by --week`,
    );
  }
  const foreign = given(ofWeek);
  const file = kind === 'everything' ? 'record.jsonl' : `${kind}.csv`;
  if (foreign !== undefined)
    throw new Refused('wrong_usage', `--${foreign} is for the files of a week. Rows go to standard output: > ${file}`);
  const narrowed = kind === 'everything' ? given(ofReadings) : undefined;
  if (narrowed !== undefined)
    throw new Refused('wrong_usage', `--everything is the whole record: leave out --${narrowed}`);
}

/**
 * `brinekeep export`: the tables of a week, and its review, as they are written every Monday; with `--readings`, `--tests` or
 * `--doses` those of any time; with `--everything` the whole record for another hub.
 */
export function addExportVerb(program: Command, adapters: VerbAdapters, terminal: Terminal): void {
  program
    .command('export')
    .description(
      'write the CSV files of a week; with --readings, --tests, --doses or --everything, write any span to standard output',
    )
    .argument('[config]', 'the YAML file', defaultConfigPath)
    .option('--week <week>', 'an ISO week such as 2026-W47; the last full week when left out')
    .option('--review', 'also the review, an HTML page to read or print')
    .option('--out <dir>', 'folder to write to; the weekly folder of the configuration when left out')
    .option('--readings', 'readings as CSV time,system,metric,value, as replay and import read them')
    .option('--tests', 'tests as CSV, as import and replay read them')
    .option('--doses', 'doses as CSV, as import reads them')
    .option('--everything', 'the whole record with photos as JSON lines, for import --as everything on another hub')
    .option('--from <time>', 'first day or time, such as 2026-11-01')
    .option('--to <time>', 'up to but not including this day or time; now when left out')
    .option('--system <id>', 'this system only')
    .option(...tokenFlag)
    .action(async (path: string, options: Options) => {
      refuseMixed(options);
      const config = readConfig(path, terminal);
      if (options.everything === true) return exportRecord(config, adapters, terminal);
      const kind = rowsKinds.find((each) => options[each] === true);
      if (kind !== undefined) return exportRows(kind, config, options, adapters, terminal);
      const week = options.week ?? weekAfter(isoWeekAt(adapters.hub.clock.nowMs(), config.site.timezone), -1);
      if (!isIsoWeek(week))
        throw new Refused('wrong_usage', `--week: found "${week}", need an ISO week such as 2026-W47`);
      const withReview = options.review === true;
      const place = { config: path, tokenFile: options.tokenFile };
      const files =
        (await fromRunningHub(config, place, week, withReview, terminal)) ??
        fromStore(config, week, withReview, adapters);
      for (const file of files) {
        const target = join(options.out ?? config.weekly.dir, file.name);
        await adapters.hub.writeFile(target, file.text);
        terminal.print(target);
      }
    });
}
