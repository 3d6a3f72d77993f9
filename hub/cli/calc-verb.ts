import type { Command } from 'commander';
import type { Tables } from '#adapters/ports/tables.ts';
import type { Calculation } from '../reports/calc/calculation.ts';
import { calculations } from '../reports/calc/registry.ts';
import { answerCase, answerTable, type Cells } from './answer-cases.ts';
import { addBathVerb } from './bath-verb.ts';
import { addLightVerb } from './light-verb.ts';
import type { Terminal } from './terminal.ts';
import { addTitrationVerb } from './titration-verb.ts';

function addCalculation(calc: Command, calculation: Calculation, tables: Tables, terminal: Terminal): void {
  const command = calc.command(calculation.name).description(calculation.summary);
  for (const input of calculation.inputs) command.option(`--${input.name} <value>`, input.help);
  command.option('--csv', 'read a CSV table with a header on standard input and write it with the results appended');
  command.option('--json', 'answer as JSON');
  command.action(async (options: Record<string, string | boolean | undefined>) => {
    if (options['csv'] === true) {
      if (!(await answerTable(() => calculation, tables, terminal))) process.exitCode = 1;
      return;
    }
    answerCase(calculation, options as Cells, options['json'] === true, terminal);
  });
}

/** `brinekeep calc WHAT`: one case from flags, or a whole table. */
export function addCalcVerb(program: Command, tables: Tables, terminal: Terminal): Command {
  const calc = program.command('calc').description('compute one case from flags, or a whole table with --csv');
  for (const calculation of calculations) addCalculation(calc, calculation, tables, terminal);
  addBathVerb(calc, tables, terminal);
  addLightVerb(calc, tables, terminal);
  addTitrationVerb(calc, tables, terminal);
  return calc;
}
