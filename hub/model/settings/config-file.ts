import type { ConfigProblem } from '../config/config-problem.ts';
import { loadConfig } from '../config/load.ts';
import type { Environment, ReadFile } from '../config/secrets.ts';

/** The file on disk as it is now, beside what the hub was started with. */
export type FileLook = {
  state: 'as_started' | 'changed' | 'unreadable';
  /** What is wrong with it now, each with its line. */
  problems: Pick<ConfigProblem, 'line' | 'column' | 'path' | 'text'>[];
  warnings: string[];
};

export type ConfigFile = {
  path: string;
  /** Reads the file anew. The running hub keeps what it was started with. */
  look(): FileLook;
};

/**
 * @param path       as the hub was started with it
 * @param startText  what stood in it then
 */
export function configFile(path: string, startText: string, env: Environment, readFile: ReadFile): ConfigFile {
  return {
    path,
    look() {
      let text: string;
      try {
        text = readFile(path);
      } catch {
        return { state: 'unreadable', problems: [], warnings: [] };
      }
      const loaded = loadConfig(text, path, env, readFile);
      return {
        state: text === startText ? 'as_started' : 'changed',
        problems: loaded.ok ? [] : loaded.problems,
        warnings: loaded.ok ? loaded.warnings : [],
      };
    },
  };
}
