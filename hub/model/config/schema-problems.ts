import type * as z from 'zod';
import { defined } from '#rules/plain-data/defined.ts';
import { type ConfigPath, type Finding, showFound } from './config-problem.ts';
import { nearestWord } from './nearest-word.ts';
import { configSchema } from './schema.ts';
import { knownKeys, needAt, schemaAt } from './schema-words.ts';

type Issue = z.core.$ZodIssue;

const secretKey = /pass(word|wd|phrase)?$|secret|token|api_?key|credential/i;

/** True for a key whose name says that its value is a secret. */
function isSecretKey(key: string): boolean {
  return secretKey.test(key);
}

/** What the schema's issues mean to a person: for each wrong key or value one finding. */
export function findingsOfIssues(issues: readonly Issue[], value: unknown): Finding[] {
  return issues.flatMap((issue) => {
    const path = issue.path.map((step) => (typeof step === 'number' ? step : String(step)));
    if (issue.code === 'unrecognized_keys') return issue.keys.map((key) => unknownKey([...path, key]));
    return [wrongValue(path, issue, valueAt(value, path), value)];
  });
}

function unknownKey(path: ConfigPath): Finding {
  const key = String(path.at(-1));
  const known = knownKeys(path.slice(0, -1));
  if (isSecretKey(key) && !known.includes(key)) return secretInFile(path, key, known);
  const need = known.length === 0 ? 'no such key' : `one of the keys ${known.join(', ')}`;
  const nearest = nearestWord(key, known);
  const found = `the unknown key ${showFound(key)}`;
  if (nearest === undefined) return { path, isAboutKey: true, found, need };
  return { path, isAboutKey: true, found, need, hint: `Did you mean ${nearest}?` };
}

/** The value is never shown: this text goes to logs and to the page of errors. */
function secretInFile(path: ConfigPath, key: string, known: readonly string[]): Finding {
  const name = known.includes('token_env') ? 'token' : 'password';
  const isPlaceForIt = known.includes(`${name}_env`);
  return {
    path,
    isAboutKey: true,
    found: `a secret in the file (${showFound(key).replaceAll('"', '')}: hidden)`,
    need: 'secrets in the environment or in a file of their own',
    hint: isPlaceForIt
      ? `Put it in an environment variable and write ${name}_env: NAME, or in a file and write ${name}_file: PATH. Then change the secret: it has been seen.`
      : 'Remove it; this block needs no secret. Then change the secret: it has been seen.',
  };
}

function wrongValue(path: ConfigPath, issue: Issue, found: unknown, whole: unknown): Finding {
  if (found === undefined || found === null) return missing(path, found, whole);
  const need = needOf(path, issue, whole);
  const hint = hintFor(path, found);
  // What stands here may be the secret itself, put in the wrong place.
  const isSecretPlace = /^(password|token)_(env|file)$/.test(String(path.at(-1)));
  const shown = isSecretPlace ? 'what is no such name (hidden)' : showFound(found);
  return { path, found: shown, need, ...defined({ hint }) };
}

function missing(path: ConfigPath, found: unknown, whole: unknown): Finding {
  const key = path.at(-1);
  if (key === undefined) return { path, found: 'an empty file', need: 'at least site: and systems:' };
  const need = `${found === null ? '' : `the key ${key}, `}${bandEdgeNeed(path, whole) ?? needAt(path)}`;
  if (found === undefined) return { path, found: 'nothing', need };
  return { path, found: 'nothing', need, hint: 'Write it below the key, or remove the key.' };
}

/** Checks that carry a sentence of their own in the schema (patterns, refinements) are told by it. */
function needOf(path: ConfigPath, issue: Issue, whole: unknown): string {
  const isOwnWords = issue.code === 'custom' || (issue.code === 'invalid_format' && issue.format === 'regex');
  if (isOwnWords) return issue.message;
  return bandEdgeNeed(path, whole) ?? needAt(path);
}

/** `a number of °C below high (26.5)` for the low edge of a band, and its mirror. */
function bandEdgeNeed(path: ConfigPath, whole: unknown): string | undefined {
  const key = path.at(-1);
  if (path.at(-3) !== 'bands' || (key !== 'low' && key !== 'high')) return undefined;
  const other = key === 'low' ? 'high' : 'low';
  const otherEdge = valueAt(whole, [...path.slice(0, -1), other]);
  const known = typeof otherEdge === 'number' ? ` (${otherEdge})` : '';
  return `${needAt(path)} ${key === 'low' ? 'below' : 'above'} ${other}${known}`;
}

function hintFor(path: ConfigPath, found: unknown): string | undefined {
  const schema = schemaAt(path);
  const kind = schema?._zod.def.type;
  if (typeof found === 'number' || typeof found === 'boolean') {
    const isText = kind === 'string' || (kind === 'enum' && schema?._zod.values?.has(String(found)));
    return isText ? `Write "${found}" in quotes.` : undefined;
  }
  if (typeof found !== 'string') return undefined;
  if (kind === 'number' || kind === 'union') {
    const number = /^\s*([+-]?\d+)(?:[.,](\d+))?\s*(.{0,12})$/.exec(found);
    if (number === null) return undefined;
    const plain = number[2] === undefined ? number[1] : `${number[1]}.${number[2]}`;
    return `Write ${plain}${number[3] === '' ? '' : ' without a unit'}.`;
  }
  if (kind === 'boolean') {
    if (/^(yes|on|y)$/i.test(found)) return 'Write true.';
    if (/^(no|off|n)$/i.test(found)) return 'Write false.';
    return undefined;
  }
  if (kind === 'enum') {
    const nearest = nearestWord(found, [...(schema?._zod.values ?? [])].map(String));
    return nearest === undefined ? undefined : `Did you mean ${nearest}?`;
  }
  return undefined;
}

/** The value at a path of plain data; undefined when the path leads nowhere. */
function valueAt(value: unknown, path: ConfigPath): unknown {
  let part = value;
  for (const step of path) {
    if (typeof part !== 'object' || part === null || !Object.hasOwn(part, step)) return undefined;
    part = (part as Record<string | number, unknown>)[step];
  }
  return part;
}

/** The result of the schema alone. */
export function parseBySchema(value: unknown) {
  return configSchema.safeParse(value ?? undefined);
}
