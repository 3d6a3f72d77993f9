import {
  CST,
  type Document,
  isAlias,
  isMap,
  isScalar,
  isSeq,
  Lexer,
  LineCounter,
  type Node,
  parseDocument,
  type YAMLParseError,
} from 'yaml';
import type { ConfigPath, Finding } from './config-problem.ts';
import { joinDecimalCommas } from './decimal-comma.ts';

/** A larger file is refused unread: 500 systems with all their probes take a fifth of it. */
const mostBytes = 1_048_576;
/** Values after aliases are followed: a small file can otherwise spell out to a billion of them. */
const mostValues = 200_000;
const mostDepth = 40;
const tooDeep = 'blocks nested too deeply';
/** Words, signs and spaces: a mebibyte of real configuration has some 300 000. */
const mostTokens = 500_000;

export type Place = { line: number; column: number };

/** What stood in the file, and where each part of it stands. */
export type YamlSource = {
  value: unknown;
  /** Mistakes of the writing itself. When any is other than a repeated key, `value` cannot be relied on. */
  mistakes: { place: Place; finding: Finding }[];
  isReadable: boolean;
  /** The place of a value or key; for a key that is absent, of the block that lacks it. */
  placeOf(path: ConfigPath, isAboutKey?: boolean): Place;
};

const top: Place = { line: 1, column: 1 };

/** Reads YAML 1.2 without ever throwing. */
export function readYaml(text: string): YamlSource {
  const bytes = Buffer.byteLength(text);
  if (bytes > mostBytes) return unreadable(`a file of ${bytes} bytes`, `at most ${mostBytes} bytes`);
  const lines = new LineCounter();
  try {
    const excess = excessIn(text);
    if (excess !== undefined)
      return unreadable(excess, `at most ${mostDepth} levels and ${mostTokens} words and signs`);
    return readDocument(text, lines);
  } catch {
    return unreadable('something that is not YAML', 'a YAML file such as the one in the documentation');
  }
}

function readDocument(text: string, lines: LineCounter): YamlSource {
  const document = parseDocument(text, { lineCounter: lines, prettyErrors: false, logLevel: 'error' });
  const placeAt = (offset: number): Place => {
    const { line, col } = lines.linePos(offset);
    return { line: Math.max(1, line), column: Math.max(1, col) };
  };
  const commas = joinDecimalCommas(document, text);
  // Two numbers that end in ,5 look like a key 5 that stands twice.
  const joinedKeys = new Set(commas.map(({ keyOffset }) => keyOffset));
  const errors = document.errors.filter(({ pos }) => !joinedKeys.has(pos[0]));
  const isReadable = errors.every((error) => error.code === 'DUPLICATE_KEY');
  const mistakes = [
    ...(isReadable ? errors : firstUnreadable(errors)).map((error) => ({
      place: placeAt(error.pos[0]),
      finding: isOfIndent(error, errors, placeAt)
        ? indentFinding
        : writingFinding(error.code, text.slice(error.pos[0], error.pos[0] + 60), error.message),
    })),
    ...commas.map(({ offset, finding }) => ({ place: placeAt(offset), finding })),
  ];
  if (!isReadable) return { value: undefined, mistakes, isReadable, placeOf: () => top };
  if (isTooDeep(document.contents, 0)) {
    return unreadable(tooDeep, `at most ${mostDepth} levels`);
  }
  let value: unknown;
  try {
    value = document.toJS({ maxAliasCount: mostValues });
  } catch {
    return unreadable('aliases (*) that repeat too much or that name no anchor (&)', 'few, plain aliases');
  }
  if (spelledOut(value, new Map()) > mostValues) {
    return unreadable('aliases (*) that repeat too much or contain themselves', `at most ${mostValues} values in all`);
  }
  const placeOf = (path: ConfigPath, isAboutKey = false) => placeAt(offsetOf(document, path, isAboutKey));
  return { value, mistakes, isReadable, placeOf };
}

function unreadable(found: string, need: string): YamlSource {
  const finding = { path: [], found, need };
  return { value: undefined, mistakes: [{ place: top, finding }], isReadable: false, placeOf: () => top };
}

/** What stands behind the place where the reader lost its way is read wrongly: only the first of these mistakes is one. */
function firstUnreadable(errors: readonly YAMLParseError[]): YAMLParseError[] {
  const lost = errors.filter(({ code }) => code !== 'DUPLICATE_KEY').toSorted((one, two) => one.pos[0] - two.pos[0]);
  return lost.slice(0, 1);
}

const indentFinding: Finding = {
  path: [],
  found: 'a line that is set too far left or right, or a bracket left open',
  need: 'keys of one block in one column and every [ and { closed',
  hint: 'Look at this line, at the ones above and below it, and start it in the column of its neighbours.',
};

/** The reader has several words for a line that begins in the wrong column. */
function isOfIndent(
  error: YAMLParseError,
  all: readonly YAMLParseError[],
  placeAt: (offset: number) => Place,
): boolean {
  switch (error.code) {
    case 'BAD_INDENT':
      return true;
    case 'BLOCK_AS_IMPLICIT_KEY':
      // On a single line it is a text with a colon instead.
      return all.some(({ code, pos }) => code === 'MULTILINE_IMPLICIT_KEY' && pos[0] === error.pos[0]);
    case 'MISSING_CHAR':
      return error.message.startsWith('Sequence item without - indicator');
    case 'UNEXPECTED_TOKEN':
      return error.message.includes('at node end') && placeAt(error.pos[0]).column === 1;
    default:
      return false;
  }
}

/** In our words and without the text of the line, which may hold what is not for a log. */
function writingFinding(code: string, at: string, message: string): Finding {
  const path: ConfigPath = [];
  switch (code) {
    case 'DUPLICATE_KEY': {
      const key = /^[A-Za-z0-9_-]{1,40}(?=["']?\s*:)/.exec(at)?.[0];
      return {
        path,
        found: key === undefined ? 'a key twice' : `the key ${key} twice`,
        need: 'each key once in a block',
      };
    }
    case 'TAB_AS_INDENT':
      return { path, found: 'a tab at the start of the line', need: 'spaces', hint: 'Replace the tab by spaces.' };
    case 'MULTIPLE_DOCS':
      return { path, found: 'a second document (---)', need: 'one document' };
    case 'MISSING_CHAR':
      return {
        path,
        found: 'a sign missing',
        need: 'closing quotes, brackets, commas and a colon after each key',
        hint: parserWords(message),
      };
    default:
      return {
        path,
        found: 'writing that is not YAML',
        need: 'key: value, lists with -, text with : or # in quotes',
        hint: parserWords(message),
      };
  }
}

function parserWords(message: string): string {
  const words = message
    .split('\n')[0]!
    .replace(/ at line \d+.*$/, '')
    .replace(/"[^"]*"|'[^']*'/g, '…');
  return `The reader says: ${words.slice(0, 120).replace(/\.$/, '')}.`;
}

/** What would cost the parser, which recurses, its stack or the board its minutes; told from the tokens alone. */
function excessIn(text: string): string | undefined {
  let tokens = 0;
  let openBrackets = 0;
  let indicatorsInLine = 0;
  for (const token of new Lexer().lex(text)) {
    switch (CST.tokenType(token)) {
      case 'newline':
        indicatorsInLine = 0;
        break;
      case 'flow-map-start':
      case 'flow-seq-start':
        openBrackets++;
        break;
      case 'flow-map-end':
      case 'flow-seq-end':
        openBrackets--;
        break;
      case 'seq-item-ind':
      case 'explicit-key-ind':
        indicatorsInLine++;
        break;
      case 'map-value-ind':
        if (openBrackets <= 0) indicatorsInLine++;
        break;
      default:
    }
    if (openBrackets > mostDepth || indicatorsInLine > mostDepth) return tooDeep;
    if (++tokens > mostTokens) return 'a file of signs without words';
  }
  return undefined;
}

function isTooDeep(node: unknown, depth: number): boolean {
  if (depth > mostDepth) return true;
  if (isMap(node)) return node.items.some((pair) => isTooDeep(pair.key, depth + 1) || isTooDeep(pair.value, depth + 1));
  if (isSeq(node)) return node.items.some((item) => isTooDeep(item, depth + 1));
  return false;
}

/** How many values there are when every alias is written out; infinite for one that contains itself. */
function spelledOut(value: unknown, sizes: Map<object, number>): number {
  if (typeof value !== 'object' || value === null) return 1;
  const known = sizes.get(value);
  if (known !== undefined) return known;
  sizes.set(value, Number.POSITIVE_INFINITY);
  let size = 1;
  for (const part of Object.values(value)) size += spelledOut(part, sizes);
  sizes.set(value, size);
  return size;
}

function offsetOf(document: Document.Parsed, path: ConfigPath, isAboutKey: boolean): number {
  let node: unknown = document.contents;
  let offset = startOf(node) ?? 0;
  for (const [depth, step] of path.entries()) {
    // What stands behind an alias has its place at the anchor.
    if (isAlias(node)) node = node.resolve(document);
    const isLast = depth === path.length - 1;
    if (isMap(node)) {
      const pair = node.items.find(({ key }) => String(isScalar(key) ? key.value : key) === String(step));
      if (pair === undefined) return offset;
      const keyOffset = startOf(pair.key) ?? offset;
      if (isLast && isAboutKey) return keyOffset;
      node = pair.value;
      // A block starts on the line below its key; the key is what a person looks for when the block as a whole is meant.
      offset = isMap(node) || isSeq(node) ? keyOffset : (startOf(node) ?? keyOffset);
    } else if (isSeq(node)) {
      const item: unknown = node.items[Number(step)];
      if (item === undefined) return offset;
      node = item;
      offset = startOf(node) ?? offset;
    } else {
      return offset;
    }
  }
  return offset;
}

function startOf(node: unknown): number | undefined {
  return (node as Node | null | undefined)?.range?.[0];
}
