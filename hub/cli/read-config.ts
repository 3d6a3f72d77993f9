import { readFileSync } from 'node:fs';
import { loadConfig } from '../config/load.ts';
import type { Config } from '../config/schema.ts';
import { VerbFailed } from './exit-code.ts';
import type { Terminal } from './terminal.ts';

export const defaultConfigPath = process.env['BRINEKEEP_CONFIG'] ?? 'brinekeep.yaml';

/** Reads and checks a configuration for a verb; all of its mistakes go to the terminal, then the verb ends with 1. */
export function readConfig(path: string, terminal: Terminal): Config {
  let text: string;
  try {
    text = readFileSync(path, 'utf8');
  } catch (error) {
    const why = (error as NodeJS.ErrnoException).code === 'ENOENT' ? 'there is no such file' : (error as Error).message;
    throw new VerbFailed(2, `${path}: ${why}. Name the configuration file, or set BRINEKEEP_CONFIG.`);
  }
  const loaded = loadConfig(text, path, process.env, (file) => readFileSync(file, 'utf8'));
  if (!loaded.ok) {
    for (const problem of loaded.problems) terminal.complain(problem.text);
    throw new VerbFailed(
      1,
      `${path}: ${loaded.problems.length} ${loaded.problems.length === 1 ? 'mistake' : 'mistakes'}`,
    );
  }
  for (const warning of loaded.warnings) terminal.complain(`warning: ${warning}`);
  return loaded.config;
}
