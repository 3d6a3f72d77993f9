import type { Command } from 'commander';
import { loadPests } from '../judgement/arrivals/pest-file.ts';
import { loadProtocols } from '../judgement/arrivals/protocol-files.ts';
import { Refused } from '../model/refusals/refused.ts';
import { readConfig } from './read-config.ts';
import { secretWarnings } from './secret-warnings.ts';
import type { Terminal } from './terminal.ts';

/** `brinekeep check CONFIG`: says every mistake of a configuration with its line, and which of its secrets are weak or open. */
export function addCheckVerb(program: Command, terminal: Terminal): void {
  program
    .command('check')
    .description('validate a configuration and list every mistake with its line number')
    .argument('<config>', 'the YAML file')
    .action((path: string) => {
      const config = readConfig(path, terminal);
      for (const warning of secretWarnings(config, process.env)) terminal.complain(`warning: ${warning}`);
      const { problems } = loadProtocols(config.protocols_dir);
      const pestProblems = loadPests(config.pests_file).problems;
      for (const problem of [...problems, ...pestProblems]) terminal.complain(problem);
      if (pestProblems.length > 0) throw new Refused('not_done', `${config.pests_file}: these pests are left out`);
      if (problems.length > 0) throw new Refused('not_done', `${config.protocols_dir}: not all protocols can be run`);
      const count = (n: number, word: string) => `${n} ${word}${n === 1 ? '' : 's'}`;
      terminal.print(
        `${path}: good (${count(config.systems.length, 'system')}, ${count(config.probes.length, 'probe')})`,
      );
    });
}
