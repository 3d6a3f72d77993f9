import type { Command } from 'commander';
import type { Tables } from '#adapters/ports/tables.ts';
import type { AlarmEvent } from '#rules/bands/alarm-event.ts';
import { alarmFigures } from '#rules/bands/alarm-figures.ts';
import type { Config } from '../model/config/schema.ts';
import { Refused } from '../model/refusals/refused.ts';
import { differences } from '../reports/replay/compare.ts';
import { differenceLine, eventLine, figuresLine } from '../reports/replay/event-line.ts';
import { readingsInOrder } from '../reports/replay/in-order.ts';
import { type RecordedEntry, recordedEntries, recordedTests } from '../reports/replay/recorded-entries.ts';
import { createReplay, type Replay } from '../reports/replay/replay-engine.ts';
import { readConfig } from './read-config.ts';
import { refuseUnreadable } from './readable-file.ts';
import type { Terminal } from './terminal.ts';
import type { VerbAdapters } from './verb-adapters.ts';

type Options = { tests?: string; entries?: string; compare?: string };

/** More bad rows than a person will read; the count says the rest. */
const badRowsTold = 20;

type Recorded = { paths: readonly string[]; testsPath: string | undefined; entriesPath: string | undefined };

/** What people entered, of both files, oldest first; of the same time in the order of the files. */
async function entriesOf(recorded: Recorded, tables: Tables, refuse: (line: string) => void): Promise<RecordedEntry[]> {
  const { testsPath, entriesPath } = recorded;
  const tests = testsPath === undefined ? [] : await recordedTests(testsPath, tables, refuse);
  const entries = entriesPath === undefined ? [] : await recordedEntries(entriesPath, refuse);
  return [...tests, ...entries].sort((a, b) => a.timeMs - b.timeMs);
}

function enter(engine: Replay, { where, entry }: RecordedEntry, refuse: (line: string) => void): void {
  try {
    engine.enter(entry);
  } catch (error) {
    if (!(error instanceof Refused)) throw error;
    refuse(`${where}: ${error.message}`);
  }
}

/** The same record through one engine, or through two side by side: it is read once. */
async function play(
  recorded: Recorded,
  engines: readonly Replay[],
  adapters: VerbAdapters,
  refuse: (line: string) => void,
): Promise<{ firstMs: number; lastMs: number } | undefined> {
  const entries = await entriesOf(recorded, adapters.tables, refuse);
  let next = 0;
  const enterUpTo = (timeMs: number): void => {
    for (let entry = entries[next]; entry !== undefined && entry.timeMs <= timeMs; entry = entries[++next])
      for (const [index, engine] of engines.entries()) enter(engine, entry, index === 0 ? refuse : () => {});
  };
  const report = {
    badRow: (path: string, row: number, reason: string, found: string) =>
      refuse(`${path} row ${row}: ${reason}: ${found}`),
  };
  let firstMs = entries[0]?.timeMs;
  let lastMs = entries.at(-1)?.timeMs ?? 0;
  for await (const block of readingsInOrder(adapters.readings, recorded.paths, report)) {
    for (const { timeMs, system, metric, value } of block) {
      if (next < entries.length) enterUpTo(timeMs);
      for (const engine of engines) engine.reading(timeMs, system, metric, value);
      firstMs = Math.min(firstMs ?? timeMs, timeMs);
      if (timeMs > lastMs) lastMs = timeMs;
    }
  }
  enterUpTo(Number.POSITIVE_INFINITY);
  return firstMs === undefined ? undefined : { firstMs, lastMs };
}

async function replay(
  config: Config,
  oldConfig: Config | undefined,
  recorded: Recorded,
  adapters: VerbAdapters,
  terminal: Terminal,
): Promise<void> {
  let refused = 0;
  const refuse = (line: string) => {
    refused += 1;
    if (refused <= badRowsTold) terminal.complain(line);
  };
  const events: AlarmEvent[] = [];
  const oldEvents: AlarmEvent[] = [];
  const engine = createReplay(config, (fresh) => {
    events.push(...fresh);
    if (oldConfig === undefined) for (const event of fresh) printIfTold(terminal, event);
  });
  const engines = [engine];
  if (oldConfig !== undefined) engines.push(createReplay(oldConfig, (fresh) => void oldEvents.push(...fresh)));
  const startedMs = adapters.hub.clock.monotonicMs();
  const period = await play(recorded, engines, adapters, refuse).catch((error: unknown) => {
    if (error instanceof Error && 'code' in error && error.code === 'TABLE_UNREADABLE')
      throw new Refused('wrong_usage', error.message);
    throw error;
  });
  const seconds = (adapters.hub.clock.monotonicMs() - startedMs) / 1000;
  if (oldConfig !== undefined) {
    for (const difference of differences(oldEvents, events)) terminal.print(differenceLine(difference));
    if (period !== undefined) {
      const figures = (of: readonly AlarmEvent[]) => alarmFigures(of, period.firstMs, period.lastMs);
      terminal.print(figuresLine(figures(oldEvents), figures(events)));
    }
  }
  tell(terminal, engine.counts, refused, seconds);
  if (period !== undefined && oldConfig === undefined)
    terminal.complain(JSON.stringify(alarmFigures(events, period.firstMs, period.lastMs)));
  if (refused + engine.counts.unknownSystem + engine.counts.unknownMetric > 0) process.exitCode = 1;
}

function printIfTold(terminal: Terminal, event: AlarmEvent): void {
  const line = eventLine(event);
  if (line !== undefined) terminal.print(line);
}

function tell(terminal: Terminal, counts: Replay['counts'], refused: number, seconds: number): void {
  const rate = Math.round(counts.readings / Math.max(seconds, 0.001));
  terminal.complain(`${counts.readings} readings in ${seconds.toFixed(2)} s, ${rate} readings/s`);
  if (refused > 0) terminal.complain(`${refused} rows were not readings and are left out`);
  if (counts.unknownSystem > 0)
    terminal.complain(`${counts.unknownSystem} readings are of a system that is not in the configuration`);
  if (counts.unknownMetric > 0)
    terminal.complain(`${counts.unknownMetric} readings are of a metric that Brinekeep does not know`);
}

/**
 * `brinekeep replay CONFIG READINGS.csv...`: recorded readings through the live rules, with the recorded clock.
 * `brinekeep replay --compare OLD CONFIG READINGS.csv...`: what CONFIG would have done otherwise than OLD.
 */
export function addReplayVerb(program: Command, adapters: VerbAdapters, terminal: Terminal): void {
  program
    .command('replay')
    .description('run recorded readings through the live rules; prints one JSON line for each alarm event')
    .argument('<config>', 'the YAML file')
    .argument('[readings...]', 'CSV files: time,system,metric,value')
    .option('--tests <file>', 'CSV: time,system,analyte,value,unit,sd')
    .option('--entries <file>', 'JSON lines of tests, doses, plans and the rest, as brinekeep advise reads them')
    .option('--compare <old>', 'another YAML file: print only what <config> does differently, and the figures of both')
    .option('--json', 'always JSON lines')
    .action((configPath: string, paths: string[], options: Options) => {
      if (paths.length === 0 && options.tests === undefined && options.entries === undefined)
        throw new Refused('wrong_usage', 'nothing to replay: name a CSV file of readings, or --tests or --entries');
      refuseUnreadable(...paths, options.tests, options.entries);
      const oldConfig = options.compare === undefined ? undefined : readConfig(options.compare, terminal);
      const config = readConfig(configPath, terminal);
      return replay(
        config,
        oldConfig,
        { paths, testsPath: options.tests, entriesPath: options.entries },
        adapters,
        terminal,
      );
    });
}
