import { readdirSync, readFileSync } from 'node:fs';
import { repository } from './doc-blocks.ts';

/** Where numbers decide what is said, alarmed or advised. */
const folders = ['rules', 'hub/flow', 'hub/judgement'] as const;

/** A number of judgement that stands by name at the top of a file. */
export type NamedConstant = {
  file: string;
  line: number;
  name: string;
  /** As it is written, on one line. */
  value: string;
  /** What stands before it as a comment, on one line. */
  words: string;
  provenance: Provenance | undefined;
};

/**
 * Where a number comes from. `source`: published, and named. `practice`: a rule of the trade without a published source. `memory`: from
 * memory, and said so. `exact`: by definition, or by arithmetic alone. `chosen`: here, for the reason that stands beside it.
 */
export type Provenance = 'source' | 'practice' | 'memory' | 'exact' | 'chosen';

/** Named by author and year, or by the standard itself. */
const published =
  /@source|\bsource:|\b(?:EOS-80|PSS-78|TEOS-10|CODATA|IUPAC|JCGM|QARTOD|IEC 62682|ISA-18\.2|SOP 3[ab]|RFC \d+)|[A-Z][a-z]+(?:(?:,| &| et al\.)[ A-Za-z&.,]*)? (?:18|19|20)\d\d\b/;

/** In this order: a rule of the trade may say `@source` too. What has words and none of these marks was chosen here. */
const marks: readonly [Provenance, RegExp][] = [
  ['practice', /common practice,? (?:\* )?no published source/i],
  ['memory', /from memory/i],
  ['source', published],
  ['exact', /\bexact\b|by definition|the definition of/i],
];

/** Exact by their own definition: so many milliseconds of a span of time. */
const isOfTheClock = /^(second|minute|hour|day|week|year)s?_?ms$/i;

/** A constant at the top of a file. */
const declared = /^(?:export )?const ([A-Za-z_$][\w$]*)(?:: [^=]+?)? =\s*/;

/** A number of its own, or a span of the clock by its name. */
const holdsNumber = /(?<![\w$.'"`])-?\d[\d_]*(?:\.\d+)?(?:e[+-]?\d+)?(?![\w$])|^(?:second|minute|hour|day)Ms$/i;

/** Every such constant of the code, in the order of files and lines. */
export function constantsOfCode(): NamedConstant[] {
  return folders.flatMap((folder) =>
    readdirSync(`${repository}/${folder}`, { recursive: true, encoding: 'utf8' })
      .filter((path) => path.endsWith('.ts'))
      .sort()
      .flatMap((path) => constantsOf(`${folder}/${path}`)),
  );
}

function constantsOf(file: string): NamedConstant[] {
  const lines = readFileSync(`${repository}/${file}`, 'utf8').split('\n');
  return lines.flatMap((line, at) => {
    const name = declared.exec(line)?.[1];
    if (name === undefined || isOfTheClock.test(name)) return [];
    const value = valueFrom(lines, at);
    if (value === undefined || !holdsNumber.test(withoutStrings(withoutComments(value)))) return [];
    const words = commentBefore(lines, at);
    const inside = [...value.matchAll(/\/\*\*?([\s\S]*?)\*\/|\/\/(.*)/g)].map((match) => match[0]).join(' ');
    const said = `${words} ${inside}`.trim();
    const provenance = marks.find(([, mark]) => mark.test(said))?.[0] ?? (said === '' ? undefined : 'chosen');
    return [
      { file, line: at + 1, name, value: withoutComments(value).replaceAll(/\s+/g, ' ').trim(), words, provenance },
    ];
  });
}

/** The value up to the end of its statement; undefined for a function, a schema or what is computed by calls. */
function valueFrom(lines: readonly string[], at: number): string | undefined {
  let depth = 0;
  const text: string[] = [];
  for (let index = at; index < Math.min(lines.length, at + 200); index += 1) {
    const line = index === at ? lines[index]!.replace(declared, '') : lines[index]!;
    text.push(line);
    for (const sign of withoutStrings(line)) {
      if ('([{'.includes(sign)) depth += 1;
      if (')]}'.includes(sign)) depth -= 1;
    }
    if (depth <= 0 && /;\s*(\/\/.*)?$/.test(line)) break;
  }
  const value = text.join('\n').replace(/;\s*(\/\/.*)?$/, '');
  const bare = withoutStrings(withoutComments(value));
  const isMade =
    /=>|\bfunction\b|\bnew RegExp\b|^\s*\/|\bz\.|\b(?!Math\b|Object\b|Number\b|Set\b|Map\b|new\b)[a-zA-Z_$][\w$.]*\(/.test(
      bare,
    );
  return isMade ? undefined : value;
}

function commentBefore(lines: readonly string[], at: number): string {
  const words: string[] = [];
  let index = at - 1;
  // Those that stand together under one comment share it, also after one that takes several lines.
  for (;;) {
    if (/^[\])}]+(?: as const)?;$/.test(lines[index] ?? '')) {
      while (index >= 0 && !/^\S/.test(lines[index - 1] ?? 'end')) index -= 1;
      index -= 1;
    }
    if (!declared.test(lines[index] ?? '')) break;
    index -= 1;
  }
  if (lines[index]?.trim().endsWith('*/') === true) {
    for (; index >= 0; index -= 1) {
      words.unshift(lines[index]!);
      if (lines[index]!.trim().startsWith('/*')) break;
    }
  } else for (; lines[index]?.trim().startsWith('//') === true; index -= 1) words.unshift(lines[index]!);
  return words
    .join(' ')
    .replaceAll(/\/\*\*?|\*\/|\/\/|\s\*\s/g, ' ')
    .replaceAll(/\s+/g, ' ')
    .trim();
}

function withoutComments(text: string): string {
  return text.replaceAll(/\/\*[\s\S]*?\*\//g, '').replaceAll(/(^|\s)\/\/.*$/gm, '');
}

function withoutStrings(text: string): string {
  return text.replaceAll(/'(?:[^'\\]|\\.)*'|"(?:[^"\\]|\\.)*"|`(?:[^`\\]|\\.)*`/g, "''");
}
