import type { Table, Tables } from '#adapters/ports/tables.ts';
import { Refused } from '../model/refusals/refused.ts';
import { answerOrWhy, type Calculation, givenFrom, resultText } from '../reports/calc/calculation.ts';
import type { Terminal } from './terminal.ts';

export type Cells = Record<string, string | undefined>;

const answerOf = (calculation: Calculation, cells: Cells) => answerOrWhy(() => calculation.compute(givenFrom(cells)));

/** One case from flags: a line for each result, or JSON. @throws Refused when it has no answer */
export function answerCase(calculation: Calculation, cells: Cells, isJson: boolean, terminal: Terminal): void {
  const answer = answerOf(calculation, cells);
  if ('why' in answer) throw new Refused('no_answer', answer.why);
  const named = calculation.results.filter((name) => answer.results[name] !== undefined);
  if (isJson) {
    terminal.print(JSON.stringify(Object.fromEntries(named.map((name) => [name, answer.results[name]]))));
  } else {
    for (const name of named) terminal.print(`${name} ${resultText(answer.results[name])}`);
  }
}

/** The table on standard input. @throws Refused when it has no header that can be read */
export function tableFrom(tables: Tables, terminal: Terminal): Promise<Table> {
  return tables.read(terminal.input).catch((error: Error) => {
    throw new Refused('wrong_usage', `standard input: ${error.message}`);
  });
}

/**
 * Every row of a table on standard input: its columns kept, the results and a last column `error` appended.
 *
 * @param calculationFor  for the columns found; only some calculations depend on them
 * @returns whether every row had an answer
 */
export async function answerTable(
  calculationFor: (columns: readonly string[]) => Calculation,
  tables: Tables,
  terminal: Terminal,
): Promise<boolean> {
  const { columns, rows } = await tableFrom(tables, terminal);
  const calculation = calculationFor(columns);
  await tables.write(terminal.output, tables.line([...columns, ...calculation.results, 'error']));
  let isWhole = true;
  // Lines go out in blocks: a write for each row would cost more than the computing.
  let block = '';
  for await (const { cells, problem } of rows) {
    const answer = problem === undefined ? answerOf(calculation, cells) : { why: problem };
    const results = 'results' in answer ? answer.results : {};
    const why = 'why' in answer ? answer.why : '';
    isWhole &&= why === '';
    const kept = columns.map((column) => cells[column] ?? '');
    block += tables.line([...kept, ...calculation.results.map((name) => resultText(results[name])), why]);
    if (block.length > 65_536) {
      await tables.write(terminal.output, block);
      block = '';
    }
  }
  await tables.write(terminal.output, block);
  return isWhole;
}
