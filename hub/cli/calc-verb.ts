import type { Command } from 'commander';
import type { Tables } from '#adapters/ports/tables.ts';
import { OutOfRange } from '#rules/quantity/out-of-range.ts';
import { type Calculation, CaseRefused, givenFrom, resultText } from '../calc/calculation.ts';
import { calculations } from '../calc/registry.ts';
import { VerbFailed } from './exit-code.ts';
import type { Terminal } from './terminal.ts';
import { addTitrationVerb } from './titration-verb.ts';

/** The reason when one case has no answer; a fault of ours is not one and goes up. */
function answerOf(
  calculation: Calculation,
  cells: Record<string, string | undefined>,
): { results: Record<string, number | string> } | { why: string } {
  try {
    return { results: calculation.compute(givenFrom(cells)) };
  } catch (error) {
    if (error instanceof OutOfRange || error instanceof CaseRefused) return { why: error.message };
    throw error;
  }
}

/** Every row of a table on standard input: its columns kept, the results and a last column `error` appended. */
async function computeTable(calculation: Calculation, tables: Tables, terminal: Terminal): Promise<boolean> {
  const { columns, rows } = await tables.read(terminal.input);
  await tables.write(terminal.output, tables.line([...columns, ...calculation.results, 'error']));
  let isWhole = true;
  // Lines go out in blocks: a write for each row would cost more than the computing.
  let block = '';
  for await (const { cells } of rows) {
    const answer = answerOf(calculation, cells);
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

function addCalculation(calc: Command, calculation: Calculation, tables: Tables, terminal: Terminal): void {
  const command = calc.command(calculation.name).description(calculation.summary);
  for (const input of calculation.inputs) command.option(`--${input.name} <value>`, input.help);
  command.option('--csv', 'read a CSV table with a header on standard input and write it with the results appended');
  command.option('--json', 'answer as JSON');
  command.action(async (options: Record<string, string | boolean | undefined>) => {
    if (options['csv'] === true) {
      if (!(await computeTable(calculation, tables, terminal))) process.exitCode = 1;
      return;
    }
    const answer = answerOf(calculation, options as Record<string, string | undefined>);
    if ('why' in answer) throw new VerbFailed(1, answer.why);
    const named = calculation.results.filter((name) => answer.results[name] !== undefined);
    if (options['json'] === true) {
      terminal.print(JSON.stringify(Object.fromEntries(named.map((name) => [name, answer.results[name]]))));
    } else {
      for (const name of named) terminal.print(`${name} ${resultText(answer.results[name])}`);
    }
  });
}

/** `brinekeep calc WHAT`: one case from flags, or a whole table. */
export function addCalcVerb(program: Command, tables: Tables, terminal: Terminal): Command {
  const calc = program.command('calc').description('compute one case from flags, or a whole table with --csv');
  for (const calculation of calculations) addCalculation(calc, calculation, tables, terminal);
  addTitrationVerb(calc, tables, terminal);
  return calc;
}
