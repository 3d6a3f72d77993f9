import type { ConfigProblem } from '../config/config-problem.ts';
import { type LoadedConfig, loadConfig } from '../config/load.ts';
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
  /** Reads the file again. The running hub keeps what it was started with. */
  look(): FileLook;
  /** As it stands on disk now; undefined when it cannot be read. */
  text(): string | undefined;
  /** Whether the hub would start with this text in the file. */
  check(text: string): LoadedConfig;
  /** On disk when it returns. @throws the error of the file system */
  write(text: string): void;
  /** The hub works by this text of the file from now on, without a new start. */
  took(text: string): void;
  /** Starts the hub again with what the file says now; undefined where nobody would start it after it has ended. */
  startAgain: (() => void) | undefined;
};

export type ConfigFileParts = {
  env: Environment;
  readFile: ReadFile;
  /** Writes another text over a file. @throws the error of the file system, and the old text is there */
  writeFile(path: string, text: string): void;
  startAgain?: () => void;
};

/**
 * @param path       as the hub was started with it
 * @param startText  what stood in it then
 */
export function configFile(path: string, startText: string, parts: ConfigFileParts): ConfigFile {
  const { env, readFile, writeFile, startAgain } = parts;
  let inForce = startText;
  const check = (text: string) => loadConfig(text, path, env, readFile);
  function text(): string | undefined {
    try {
      return readFile(path);
    } catch {
      return undefined;
    }
  }
  return {
    path,
    text,
    check,
    startAgain,
    took(taken) {
      inForce = taken;
    },
    write: (changed) => writeFile(path, changed),
    look() {
      const now = text();
      if (now === undefined) return { state: 'unreadable', problems: [], warnings: [] };
      const loaded = check(now);
      return {
        state: now === inForce ? 'as_started' : 'changed',
        problems: loaded.ok ? [] : loaded.problems,
        warnings: loaded.ok ? loaded.warnings : [],
      };
    },
  };
}
