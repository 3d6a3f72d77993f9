import type { Command } from 'commander';
import { partsOfOneProcess } from '../bench/parts.ts';
import { namesOf, runParts } from '../bench/run-parts.ts';
import { Refused } from '../model/refusals/refused.ts';
import { answerTable } from './answer-cases.ts';
import type { Terminal } from './terminal.ts';
import type { VerbAdapters } from './verb-adapters.ts';

/**
 * `brinekeep bench`: speed as ratios to something plain that is measured beside it in the same run. What needs a broker, a
 * device, a database server or a second hub is measured by `npm run bench` in the sources, which runs all of this too.
 */
export function addBenchVerb(program: Command, adapters: VerbAdapters, terminal: Terminal): void {
  program
    .command('bench')
    .description('measure speed, as ratios side by side in one run')
    .option('--json <file>', 'write the figures to a file')
    .option('--quick', 'too little work for meaningful figures: only to see that it runs')
    .option('--only <part>', 'one part only: calc, rules, replay, replay-file or growth')
    .action(async (options: { json?: string; quick?: boolean; only?: string }) => {
      const parts = partsOfOneProcess(adapters, answerTable);
      if (options.only !== undefined && !parts.some(({ name }) => name === options.only))
        throw new Refused('wrong_usage', `no part "${options.only}"; there are ${namesOf(parts)}`);
      const report = await runParts(parts, { isQuick: options.quick === true, only: options.only }, terminal.print);
      terminal.print(
        'With the sources, `npm run bench` also measures probes, latency, storage, charts, start and memory.',
      );
      if (options.json !== undefined)
        await adapters.hub.writeFile(options.json, `${JSON.stringify(report, undefined, 2)}\n`);
      if (report.failed.length > 0)
        throw new Refused('not_done', `${report.failed.length} parts could not be measured`);
    });
}
