import type { Command } from 'commander';
import type { Tables } from '#adapters/ports/tables.ts';
import { Refused } from '../model/refusals/refused.ts';
import { bathCalculation, reagentFlag, reagentsOfColumns } from '../reports/calc/bath.ts';
import { answerOrWhy } from '../reports/calc/calculation.ts';
import { answerCase, answerTable, type Cells } from './answer-cases.ts';
import type { Terminal } from './terminal.ts';

type BathOptions = Record<string, string | boolean | string[] | undefined> & { reagent: string[] };

function reagentCells(flags: readonly string[]): Record<string, string> {
  const read = answerOrWhy(() => flags.reduce<Record<string, string>>((cells, flag) => reagentFlag(flag, cells), {}));
  if ('why' in read) throw new Refused('wrong_usage', read.why);
  return read.results;
}

/** `brinekeep calc bath`: one dip bath from flags, or a table whose columns name the reagents. */
export function addBathVerb(calc: Command, tables: Tables, terminal: Terminal): void {
  const plain = bathCalculation([]);
  const command = calc.command(plain.name).description(plain.summary);
  for (const input of plain.inputs) command.option(`--${input.name} <value>`, input.help);
  command
    .option(
      '--reagent <name=ml_per_l>',
      "dose by the maker's label, mL per litre of bath; name=ml_per_l:low-high warns outside the label's range; repeatable",
      (flag: string, before: string[]) => [...before, flag],
      [],
    )
    .option(
      '--csv',
      'read a CSV table with a header on standard input and write it with the results appended; its columns NAME_ml_per_l are reagents',
    )
    .option('--json', 'answer as JSON')
    .action(async (options: BathOptions) => {
      if (options['csv'] === true) {
        if (options.reagent.length > 0)
          throw new Refused('wrong_usage', '--reagent: with --csv a reagent is a column NAME_ml_per_l');
        const isWhole = await answerTable((columns) => bathCalculation(reagentsOfColumns(columns)), tables, terminal);
        if (!isWhole) process.exitCode = 1;
        return;
      }
      const doses = reagentCells(options.reagent);
      const cells = { ...(options as Cells), ...doses };
      answerCase(bathCalculation(reagentsOfColumns(Object.keys(doses))), cells, options['json'] === true, terminal);
    });
}
