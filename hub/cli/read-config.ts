import { readFileSync } from 'node:fs';
import type { ConfigProblem } from '../model/config/config-problem.ts';
import { loadConfig } from '../model/config/load.ts';
import type { Config } from '../model/config/schema.ts';
import { Refused } from '../model/refusals/refused.ts';
import { whyUnreadable } from './readable-file.ts';
import type { Terminal } from './terminal.ts';

export const defaultConfigPath = process.env['BRINEKEEP_CONFIG'] ?? 'brinekeep.yaml';

/** A good configuration with the text that it was read from. */
export type ConfigText = { is: 'good'; config: Config; text: string; warnings: string[] };

export type ConfigRead =
  | ConfigText
  | { is: 'wrong'; problems: ConfigProblem[]; text: string; count: string }
  | { is: 'unreadable'; why: string };

export function readConfigText(path: string): ConfigRead {
  const why = whyUnreadable(path);
  if (why?.endsWith('may not read it'))
    return { is: 'unreadable', why: `${path}: ${why}. Put sudo before the command, or name another file.` };
  if (why !== undefined)
    return { is: 'unreadable', why: `${path}: ${why}. Name the configuration file, or set BRINEKEEP_CONFIG.` };
  const text = readFileSync(path, 'utf8');
  const loaded = loadConfig(text, path, process.env, (file) => readFileSync(file, 'utf8'));
  if (loaded.ok) return { is: 'good', text, config: loaded.config, warnings: loaded.warnings };
  const { length } = loaded.problems;
  return {
    is: 'wrong',
    text,
    problems: loaded.problems,
    count: `${path}: ${length} mistake${length === 1 ? '' : 's'}`,
  };
}

/** All that is to be said of it, on the terminal. */
export function tellReading(reading: ConfigRead, terminal: Terminal): void {
  if (reading.is === 'unreadable') terminal.complain(reading.why);
  else if (reading.is === 'good') for (const warning of reading.warnings) terminal.complain(`warning: ${warning}`);
  else for (const problem of reading.problems) terminal.complain(problem.text);
}

/** Reads and checks a configuration for a verb; all of its mistakes go to the terminal, then the verb ends with 1. */
export function readConfig(path: string, terminal: Terminal): Config {
  return goodConfig(path, terminal).config;
}

/** The same with its text. */
export function goodConfig(path: string, terminal: Terminal): ConfigText {
  const reading = readConfigText(path);
  if (reading.is === 'unreadable') throw new Refused('wrong_usage', reading.why);
  tellReading(reading, terminal);
  if (reading.is === 'wrong') throw new Refused('not_done', reading.count);
  return reading;
}
