import { readdirSync, readFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';

export const repository = fileURLToPath(new URL('../..', import.meta.url));

/** Pages whose commands are held to be true: the front page, the documents, and what stands beside the files of deploy/. */
export function docPages(): string[] {
  const folders = readdirSync(`${repository}/deploy`, { withFileTypes: true }).filter((each) => each.isDirectory());
  const inFolders = folders.flatMap(({ name }) =>
    readdirSync(`${repository}/deploy/${name}`)
      .filter((file) => (name === 'docs' ? file.endsWith('.md') : file === 'README.md'))
      .map((file) => `deploy/${name}/${file}`),
  );
  return ['README.md', 'deploy/README.md', ...inFolders].sort();
}

/** Pages for whoever changes the program: the tour, and what stands beside the sources. */
export function insidePages(): string[] {
  const beside = ['adapters', 'fixtures', 'hub', 'rules', 'tests'].flatMap((folder) =>
    readdirSync(`${repository}/${folder}`, { recursive: true, encoding: 'utf8' })
      .filter((path) => path.endsWith('.md') && !path.includes('node_modules'))
      .map((path) => `${folder}/${path}`),
  );
  return ['DEVELOPERS.md', ...beside.sort()];
}

/**
 * Why a block of commands is not run here: it needs root, a service manager, plugs or a network; it sets a fresh machine up;
 * or it is about things that only its reader has.
 */
export const markers = ['on-the-board', 'fresh-machine', 'checked-only'] as const;

export type ShellBlock = {
  /** Page and line of its first command. */
  at: string;
  text: string;
  marker: string | undefined;
  /** What the page says that it prints, where a block of `text` follows it directly. */
  shown: string | undefined;
};

/** Every fenced `sh` block of a page. */
export function shellBlocks(page: string): ShellBlock[] {
  const whole = readFileSync(`${repository}/${page}`, 'utf8');
  return [...whole.matchAll(/^```sh(?: ([^\n]+))?\n([\s\S]*?)^```$(?:\n+^```text\n([\s\S]*?)^```$)?/gm)].map(
    (match) => {
      const [, marker, text = '', shown] = match;
      return { at: `${page}:${whole.slice(0, match.index).split('\n').length + 1}`, text, marker, shown };
    },
  );
}

/** The fenced block of another language that stands first on a page. @throws when there is none */
export function firstBlock(page: string, language: string): string {
  const whole = readFileSync(`${repository}/${page}`, 'utf8');
  const found = new RegExp(`^\`\`\`${language}\\n([\\s\\S]*?)^\`\`\`$`, 'm').exec(whole)?.[1];
  if (found === undefined) throw new Error(`${page} has no block of ${language}`);
  return found;
}

/** One command a line, without comments, continued lines joined. */
export function commandLines(text: string): string[] {
  return text
    .replace(/\\\n\s*/g, ' ')
    .split('\n')
    .map((line) => line.replace(/(^|\s)#.*$/, '').trim())
    .filter((line) => line !== '');
}
