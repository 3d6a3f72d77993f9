import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { kinds } from '#rules/bands/kinds/list.ts';
import { edgeFault } from '#rules/bands/upkeep-rules.ts';
import { repository } from './doc-blocks.ts';

const widestLine = 150;

/** The page about alarms: what each kind says of itself, between what a person wrote above and below it. */
export function alarmsReference(): string {
  const page = readFileSync(join(repository, 'deploy/docs/alarms.md'), 'utf8');
  const entries = [...kinds, edgeFault].map(
    ({ id, means, firstLook }) => `## ${id}\n${wrapped(`${means} **First:** ${firstLook}`)}\n\n`,
  );
  return page.replace(/^## [\s\S]*?(?=^### )/m, () => entries.join(''));
}

function wrapped(text: string): string {
  const lines = [''];
  for (const word of text.split(' ')) {
    const longer = lines.at(-1) === '' ? word : `${lines.at(-1)} ${word}`;
    if (longer.length <= widestLine) lines[lines.length - 1] = longer;
    else lines.push(word);
  }
  return lines.join('\n');
}
