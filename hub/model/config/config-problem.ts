import { withoutHidden } from '../refusals/hidden-characters.ts';
/** Where a mistake stands: keys and list indices from the top of the file. */
export type ConfigPath = readonly (string | number)[];

/** A mistake in the configuration before it has its place in the file. */
export type Finding = {
  path: ConfigPath;
  /** What stands there, ready to print: see `showFound`. */
  found: string;
  /** What is allowed, as the end of the sentence "need …". */
  need: string;
  /** What to do now, as a sentence. */
  hint?: string;
  /** Point at the key (a key that is wrong by its name) and not at its value. */
  isAboutKey?: boolean;
};

export type ConfigProblem = {
  /** Both count from 1. */
  line: number;
  column: number;
  /** E.g. `systems[0].bands.temperature.low`; empty for the file as a whole. */
  path: string;
  found: string;
  need: string;
  hint?: string;
  /** All of it in one line, for a terminal or a page. */
  text: string;
};

/** A path as people write it: `systems[0].bands.temperature.low`. */
export function pathText(path: ConfigPath): string {
  let text = '';
  for (const step of path) {
    if (typeof step === 'number') text += `[${step}]`;
    else text += text === '' ? keyText(step) : `.${keyText(step)}`;
  }
  return text;
}

/** A broken file may make a key of half a page: it is quoted, on one line and short. */
function keyText(key: string): string {
  return /^[A-Za-z0-9_-]{1,40}$/.test(key) ? key : showFound(key);
}

/** One line for a person: file and line, key, what was found, what is allowed, what to do now. */
export function formatProblem(fileName: string, problem: Omit<ConfigProblem, 'text'>): string {
  const where = problem.path === '' ? '' : ` ${problem.path}:`;
  const hint = problem.hint === undefined ? '' : ` ${problem.hint}`;
  return `${fileName}:${problem.line}${where} found ${problem.found}, need ${problem.need}.${hint}`;
}

const longestShown = 60;

/** A value of the file as it appears in a message: short, on one line, without the password inside a URL. */
export function showFound(value: unknown): string {
  if (value === undefined || value === null) return 'nothing';
  if (typeof value === 'string') {
    const shown = JSON.stringify(withoutHidden(value).replace(/\/\/[^/@]*@/g, '//(hidden)@'));
    return shown.length > longestShown ? `${shown.slice(0, longestShown)}…"` : shown;
  }
  if (Array.isArray(value)) return value.length === 0 ? 'an empty list' : `a list of ${value.length}`;
  if (typeof value === 'object') return 'a block of keys';
  return String(value);
}
