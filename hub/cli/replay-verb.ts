import { createReadStream } from 'node:fs';
import type { Command } from 'commander';
import type { AlarmEvent } from '#rules/bands/alarm-event.ts';
import { alarmFigures } from '#rules/bands/alarm-figures.ts';
import { isMetric, type Metric } from '#rules/quantity/metric.ts';
import { toStoreUnit } from '#rules/quantity/unit.ts';
import { eventLine } from '../replay/event-line.ts';
import { readingsInOrder } from '../replay/in-order.ts';
import { createReplay } from '../replay/replay-engine.ts';
import { VerbFailed } from './exit-code.ts';
import { readConfig } from './read-config.ts';
import type { Terminal } from './terminal.ts';
import type { VerbAdapters } from './verb-adapters.ts';

type RecordedTest = { timeMs: number; system: string; analyte: Metric; value: number };

/** More bad rows than a person will read; the count says the rest. */
const badRowsTold = 20;

async function testsOf(path: string, adapters: VerbAdapters, refuse: (line: string) => void): Promise<RecordedTest[]> {
  const table = await adapters.tables.read(createReadStream(path));
  const tests: RecordedTest[] = [];
  for await (const { row, cells } of table.rows) {
    const timeMs = Date.parse(cells['time'] ?? '');
    const analyte = cells['analyte'] ?? '';
    const value = Number(cells['value']);
    if (Number.isNaN(timeMs) || !isMetric(analyte) || cells['value'] === '' || !Number.isFinite(value)) {
      refuse(`${path} row ${row}: need time (ISO 8601), system, analyte, value, unit, sd`);
      continue;
    }
    try {
      const unit = cells['unit'] ?? '';
      const inUnit = unit === '' ? value : toStoreUnit(analyte, value, unit);
      tests.push({ timeMs, system: cells['system'] ?? '', analyte, value: inUnit });
    } catch (error) {
      refuse(`${path} row ${row}: ${error instanceof Error ? error.message : String(error)}`);
    }
  }
  return tests.sort((a, b) => a.timeMs - b.timeMs);
}

async function replay(
  configPath: string,
  paths: string[],
  testsPath: string | undefined,
  adapters: VerbAdapters,
  terminal: Terminal,
): Promise<void> {
  const config = readConfig(configPath, terminal);
  let refused = 0;
  const refuse = (line: string) => {
    refused += 1;
    if (refused <= badRowsTold) terminal.complain(line);
  };
  const events: AlarmEvent[] = [];
  const engine = createReplay(config, (fresh) => {
    for (const event of fresh) {
      events.push(event);
      const line = eventLine(event);
      if (line !== undefined) terminal.print(line);
    }
  });
  const tests = testsPath === undefined ? [] : await testsOf(testsPath, adapters, refuse);
  let nextTest = 0;
  let firstMs: number | undefined;
  let lastMs = 0;
  const startedMs = adapters.hub.clock.monotonicMs();
  const giveTestsUpTo = (timeMs: number): void => {
    for (let test = tests[nextTest]; test !== undefined && test.timeMs <= timeMs; test = tests[++nextTest]) {
      engine.offer({ is: 'test', ...test }, test.timeMs);
    }
  };
  const report = {
    badRow: (path: string, row: number, reason: string, found: string) =>
      refuse(`${path} row ${row}: ${reason}: ${found}`),
  };
  try {
    for await (const block of readingsInOrder(adapters.readings, paths, report)) {
      for (const { timeMs, system, metric, value } of block) {
        if (nextTest < tests.length) giveTestsUpTo(timeMs);
        engine.reading(timeMs, system, metric, value);
        firstMs ??= timeMs;
        if (timeMs > lastMs) lastMs = timeMs;
      }
    }
  } catch (error) {
    if (error instanceof Error && 'code' in error && error.code === 'TABLE_UNREADABLE')
      throw new VerbFailed(2, error.message);
    throw error;
  }
  giveTestsUpTo(Number.POSITIVE_INFINITY);
  const seconds = (adapters.hub.clock.monotonicMs() - startedMs) / 1000;
  tell(terminal, engine.counts, refused, seconds);
  if (firstMs !== undefined) tellFigures(terminal, events, firstMs, lastMs);
  if (refused + engine.counts.unknownSystem + engine.counts.unknownMetric > 0) process.exitCode = 1;
}

function tell(
  terminal: Terminal,
  counts: ReturnType<typeof createReplay>['counts'],
  refused: number,
  seconds: number,
): void {
  const rate = Math.round(counts.readings / Math.max(seconds, 0.001));
  terminal.complain(`${counts.readings} readings in ${seconds.toFixed(2)} s, ${rate} readings/s`);
  if (refused > 0) terminal.complain(`${refused} rows were not readings and are left out`);
  if (counts.unknownSystem > 0)
    terminal.complain(`${counts.unknownSystem} readings are of a system that the configuration does not name`);
  if (counts.unknownMetric > 0)
    terminal.complain(`${counts.unknownMetric} readings are of a metric that Brinekeep does not know`);
}

function tellFigures(terminal: Terminal, events: readonly AlarmEvent[], fromMs: number, toMs: number): void {
  const figures = alarmFigures(events, fromMs, toMs);
  terminal.complain(JSON.stringify(figures));
}

/** `brinekeep replay CONFIG READINGS.csv...`: recorded readings through the live rules, with the recorded clock. */
export function addReplayVerb(program: Command, adapters: VerbAdapters, terminal: Terminal): void {
  program
    .command('replay')
    .description('run recorded readings through the very same rules; prints one JSON line for each alarm event')
    .argument('<config>', 'the YAML file')
    .argument('<readings...>', 'CSV files: time,system,metric,value')
    .option('--tests <file>', 'CSV: time,system,analyte,value,unit,sd')
    .option('--json', 'print JSON lines (the only form there is)')
    .action((config: string, paths: string[], options: { tests?: string }) =>
      replay(config, paths, options.tests, adapters, terminal),
    );
}
