import type { Command } from 'commander';
import type { Tables } from '#adapters/ports/tables.ts';
import type { ParAtHeight } from '#rules/arrivals/light-profile.ts';
import { Refused } from '../model/refusals/refused.ts';
import { answerOrWhy, givenFrom, resultText } from '../reports/calc/calculation.ts';
import { computeLight, lightColumns, lightInputs, pairFlag } from '../reports/calc/light.ts';
import { type Cells, tableFrom } from './answer-cases.ts';
import type { Terminal } from './terminal.ts';

type LightOptions = Record<string, string | boolean | string[] | undefined> & { pair: string[] };

/** A plan from places of which one is wrong would be wrong too: the first bad row ends it. */
async function pairsFromTable(tables: Tables, terminal: Terminal): Promise<ParAtHeight[]> {
  const { columns, rows } = await tableFrom(tables, terminal);
  const missing = ['height_cm', 'par'].find((name) => !columns.includes(name));
  if (missing !== undefined)
    throw new Refused('wrong_usage', `found the columns ${columns.join(', ')}; need ${missing}`);
  const pairs: ParAtHeight[] = [];
  for await (const { row, cells, problem } of rows) {
    const given = givenFrom(cells);
    const read = answerOrWhy(() => ({ height_cm: given.number('height_cm'), par_umol_m2_s: given.number('par') }));
    if ('why' in read) throw new Refused('not_done', `row ${row}: ${problem ?? read.why}`);
    pairs.push(read.results);
  }
  return pairs;
}

function pairsFromFlags(flags: readonly string[]): ParAtHeight[] {
  const read = answerOrWhy(() => flags.map(pairFlag));
  if ('why' in read) throw new Refused('wrong_usage', read.why);
  return read.results;
}

async function planLight(options: LightOptions, tables: Tables, terminal: Terminal): Promise<void> {
  const pairs = [
    ...pairsFromFlags(options.pair),
    ...(options['csv'] === true ? await pairsFromTable(tables, terminal) : []),
  ];
  const answer = answerOrWhy(() => computeLight(givenFrom(options as Cells), pairs, options['ratio'] === true));
  if ('why' in answer) throw new Refused('no_answer', answer.why);
  const { rows, cautions } = answer.results;
  if (options['json'] === true) terminal.print(JSON.stringify(rows));
  else {
    await tables.write(terminal.output, tables.line([...lightColumns]));
    for (const row of rows) {
      await tables.write(terminal.output, tables.line(lightColumns.map((name) => resultText(row[name]))));
    }
  }
  for (const caution of cautions) terminal.complain(caution);
}

/** `brinekeep calc light`: the height of the rack for each day, as CSV; cautions go to standard error. */
export function addLightVerb(calc: Command, tables: Tables, terminal: Terminal): void {
  const command = calc
    .command('light')
    .description('height of the rack for each day from measured PAR, a start and a target, written as CSV')
    .option(
      '--pair <height_cm=par>',
      'PAR measured at full light, µmol/m²/s, at a height above the sand bed; repeatable',
      (flag: string, before: string[]) => [...before, flag],
      [],
    )
    .option('--csv', 'read the places from a CSV table on standard input, columns height_cm and par');
  for (const input of lightInputs) command.option(`--${input.name} <value>`, input.help);
  command
    .option('--ratio', 'equal ratios of daily light instead of equal steps')
    .option('--json', 'answer as JSON')
    .action((options: LightOptions) => planLight(options, tables, terminal));
}
