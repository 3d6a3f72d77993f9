import { once } from 'node:events';
import type { Command } from 'commander';
import type { Config } from '../model/config/schema.ts';
import { withoutHidden } from '../model/refusals/hidden-characters.ts';
import { Refused } from '../model/refusals/refused.ts';
import { openDiary } from '../reports/advise/diary.ts';
import { type DiaryLine, diaryLineFrom } from '../reports/advise/diary-lines.ts';
import { createFarAhead } from '../reports/advise/far-ahead.ts';
import { linesOf } from '../reports/advise/lines-of.ts';
import { createTable, isAdvisedOn, tableHead } from '../reports/advise/table.ts';
import { exitCode } from './exit-code.ts';
import { readConfig } from './read-config.ts';
import type { Terminal } from './terminal.ts';

type Options = { follow?: boolean; asTable?: boolean };

type NumberedLine = Exclude<DiaryLine, { is: 'bad' }> & { number: number };

const iso = (timeMs: number): string => new Date(timeMs).toISOString();

/** Answers are written in blocks of so many characters, unless somebody waits for each. */
const blockCharacters = 65_536;

async function advise(config: Config, options: Options, terminal: Terminal): Promise<void> {
  const diary = openDiary(config);
  const table = options.asTable === true ? createTable(config.site.timezone) : undefined;
  let number = 0;
  let output = table === undefined ? '' : `${tableHead.join('\n')}\n`;
  const write = async (): Promise<void> => {
    const text = withoutHidden(output);
    output = '';
    // Whoever reads slowly is waited for.
    if (text !== '' && !terminal.output.write(text)) await once(terminal.output, 'drain');
  };
  const refuse = (line: number, why: string): void => {
    terminal.complain(`line ${line}: ${why}`);
    process.exitCode = exitCode.dataSayNo;
  };
  const farAhead = createFarAhead<NumberedLine>();
  const take = (line: NumberedLine): void => {
    if (line.is === 'entry') {
      diary.enter(line.entry);
      if (table === undefined || !isAdvisedOn(line.entry)) return;
      output += `${table.rowsOf(line.entry, diary.ask(line.entry.system, line.timeMs)).join('\n')}\n`;
    } else if (table === undefined) output += `${JSON.stringify(diary.ask(line.system, line.timeMs))}\n`;
  };
  const takeAll = (lines: readonly NumberedLine[]): void => {
    for (const line of lines) {
      try {
        take(line);
      } catch (error) {
        if (!(error instanceof Refused)) throw error;
        refuse(line.number, error.message);
      }
    }
  };
  for await (const text of linesOf(terminal.input)) {
    number += 1;
    if (text.trim() === '') continue;
    const line = diaryLineFrom(text);
    if (line.is === 'bad') refuse(number, line.why);
    else {
      const { taken, skipped } = farAhead.offer({ ...line, number }, line.is === 'ask');
      for (const { number: ahead, timeMs } of skipped)
        refuse(ahead, `time: found ${iso(timeMs)}, long after the lines that follow (${iso(line.timeMs)})`);
      takeAll(taken);
    }
    if (options.follow === true || output.length >= blockCharacters) await write();
  }
  takeAll(farAhead.rest());
  await write();
}

/** `brinekeep advise CONFIG`: what the hub would have said over a diary of JSON lines. */
export function addAdviseVerb(program: Command, terminal: Terminal): void {
  program
    .command('advise')
    .description('the advice that a running hub would give on a diary: JSON lines in, one JSON line for each question')
    .argument('<config>', 'the YAML file')
    .option('--follow', 'answer each question before reading the next line, for a program that writes the diary')
    .option('--as-table', 'print a table instead: the advice after each test')
    .addHelpText(
      'after',
      `
Lines on standard input, oldest first:
  {"time": "2026-01-05T09:00:00Z", "kind": "test", "system": "display", "analyte": "alkalinity", "value": 8.1}
  {"time": "2026-01-05T09:00:00Z", "ask": "display"}
Kinds: test, dose, plan, water_change, refill, arrival, reading. Fields as in the HTTP API.`,
    )
    .action((configPath: string, options: Options) => advise(readConfig(configPath, terminal), options, terminal));
}
