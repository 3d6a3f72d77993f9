import { cpus } from 'node:os';
import type { Command } from 'commander';
import { measureCalcTable } from '../bench/calc-table.ts';
import type { Measurement } from '../bench/measurement.ts';
import { measureReplay } from '../bench/replay-rate.ts';
import { measureRules } from '../bench/rules-cost.ts';
import type { Terminal } from './terminal.ts';
import type { VerbAdapters } from './verb-adapters.ts';

function lineOf({ name, figure, unit, ratio, beside }: Measurement): string {
  const shown = figure >= 100 ? Math.round(figure).toString() : figure.toPrecision(3);
  const beyond = ratio === undefined ? '' : `  ${ratio.toFixed(2)} of ${beside}`;
  return `${name.padEnd(64)} ${shown.padStart(10)} ${unit}${beyond}`;
}

/** `brinekeep bench`: speed as ratios to something plain that is measured beside it in the same run. */
export function addBenchVerb(program: Command, adapters: VerbAdapters, terminal: Terminal): void {
  program
    .command('bench')
    .description('measure speed, as ratios side by side in one run')
    .option('--json', 'print JSON')
    .action(async (options: { json?: boolean }) => {
      const { clock } = adapters.hub;
      const measured = [
        ...(await measureCalcTable(adapters.tables, clock)),
        ...(await measureRules(clock)),
        ...(await measureReplay(adapters.readings, clock)),
      ];
      if (options.json === true) terminal.print(JSON.stringify(measured, undefined, 2));
      else {
        terminal.print(`${cpus()[0]?.model ?? 'unknown processor'}, ${cpus().length} cores, Node ${process.version}`);
        for (const measurement of measured) terminal.print(lineOf(measurement));
      }
    });
}
