import { constantsOfCode, type NamedConstant, type Provenance } from './constants-of-code.ts';
import { code, table } from './schema-words.ts';

const longestWords = 220;
const longestValue = 70;

const provenanceWords: Record<Provenance, string> = {
  source: 'published',
  practice: 'common practice, no published source',
  memory: 'from memory',
  exact: 'exact',
  chosen: 'chosen here',
};

/** The page about the numbers that judge, from the code itself. */
export function constantsReference(): string {
  const constants = constantsOfCode();
  const files = [...new Set(constants.map(({ file }) => file))];
  const count = (provenance: Provenance) => constants.filter((each) => each.provenance === provenance).length;
  const counted = (Object.keys(provenanceWords) as Provenance[])
    .map((each) => `${provenanceWords[each]} ${count(each)}`)
    .join(', ');
  return [
    '# The numbers that judge',
    '',
    'Written by `npm run docs` from the code of rules, flow and judgement: each named number at the top of a file, and where it',
    `comes from. In all ${constants.length}: ${counted}. "Chosen here" has no source outside this program; its reason is beside it. Numbers in`,
    'tables of facts (metrics, substances, pests, kinds of alarms) have their source at the table and are not in this list.',
    '',
    ...files.flatMap((file) => [
      `## ${file}`,
      '',
      ...table(
        ['name', 'value', 'where from', 'what it says'],
        constants.filter((each) => each.file === file).map(rowOf),
      ),
      '',
    ]),
  ].join('\n');
}

function rowOf({ name, value, provenance, words }: NamedConstant): string[] {
  const from = provenance === undefined ? 'not said' : provenanceWords[provenance];
  return [code(name), code(cut(value, longestValue)), from, cut(words.replaceAll('|', '/'), longestWords)];
}

function cut(text: string, most: number): string {
  return text.length <= most ? text : `${text.slice(0, most - 1)}…`;
}
