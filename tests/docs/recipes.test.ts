import { execFileSync, spawnSync } from 'node:child_process';
import { readdirSync, readFileSync } from 'node:fs';
import { join, resolve } from 'node:path';
import { afterAll, expect, test } from 'vitest';
import { layers } from '../layering/import-graph.mjs';
import { plantedTree } from '../layering/planted.ts';
import { patience } from '../servers/server-process.ts';
import { repository } from './doc-blocks.ts';

/** A copy of the sources, on which a recipe of DEVELOPERS.md is followed. */
const tree = plantedTree();
afterAll(() => tree.remove());
const sources = execFileSync('git', ['ls-files', '-co', '--exclude-standard', 'rules', 'hub', 'adapters'], {
  encoding: 'utf8',
});
for (const path of ['package.json', 'tsconfig.json', ...sources.trim().split('\n')]) tree.copy(path);

/** Changes a file of the copy. */
function edit(path: string, change: (text: string) => string): void {
  const before = readFileSync(join(tree.root, path), 'utf8');
  const after = change(before);
  expect(after, path).not.toBe(before);
  tree.put(path, after);
}

/** The files of the product in which the compiler finds something missing. */
function asksFor(): string[] {
  const { stdout } = spawnSync(resolve('node_modules/.bin/tsc'), ['-p', 'tsconfig.json'], {
    cwd: tree.root,
    encoding: 'utf8',
  });
  return [...new Set([...stdout.matchAll(/^(\S+?)\(\d+,\d+\): error/gm)].map(([, file = '']) => file))].sort();
}

/** What the list of kinds and the configuration say, in a process that reads the copy. */
function ruleKindsThere(): string {
  const source = "import { ruleKinds } from '#rules/bands/kinds/list.ts'; console.log(ruleKinds.join(' '));";
  tree.put('ask.mts', source);
  return execFileSync(process.execPath, ['--conditions=source', '--import', import.meta.resolve('tsx'), 'ask.mts'], {
    cwd: tree.root,
    encoding: 'utf8',
  });
}

// The compiler reads the whole product.
const unhurried = { timeout: 300_000 * patience() };

test('a new kind of alarms takes more than its file and its place in the list', unhurried, () => {
  tree.put(
    'rules/bands/kinds/orp-low.ts',
    `import { conditionBelow } from '../condition.ts';
import type { AlarmKind } from './kind.ts';

export const orpLow: AlarmKind<'orp_low', 'orpLow', never> = {
  id: 'orp_low',
  means: 'The redox potential is lower than it should be in a tank.',
  firstLook: 'look for something dead.',
  appliesTo: 'metric',
  hasDeadband: true,
  onStream: {
    orpLow: {
      slot: 10,
      defaults: ({ metric }) => (metric === 'orp' ? { priority: 'low', limit: 200, deadband: 20 } : undefined),
      judge: { each: 'value', condition: ({ value, settings }) => conditionBelow(value, settings.limit, settings.deadband) },
      raised: ({ name, value }) => \`\${name} is \${value}.\`,
    },
  },
  elsewhere: {},
};
`,
  );
  edit('rules/bands/kinds/list.ts', (text) =>
    text
      .replace('import { outOfBand }', "import { orpLow } from './orp-low.ts';\nimport { outOfBand }")
      .replace('  containerLow,\n] as const', '  containerLow,\n  orpLow,\n] as const'),
  );
  expect(asksFor()).toEqual([]);
  expect(ruleKindsThere()).toContain(' orp_low');
});

test('a new analyte is forgotten somewhere, or asks for more files than the recipe says', unhurried, () => {
  edit('rules/quantity/metric.ts', (text) => text.replaceAll("  'iodide',\n", "  'iodide',\n  'silicate',\n"));
  const files = [
    'hub/web/src/room/entry-kinds.ts',
    'rules/bands/metric-defaults.ts',
    'rules/quality/default-checks.ts',
  ];
  const asked = [...files, 'rules/quantity/metric.ts', 'rules/quantity/unit-table.ts'];
  expect(asksFor()).toEqual(asked);
  const recipe = readFileSync(join(repository, 'DEVELOPERS.md'), 'utf8');
  for (const file of asked) expect(recipe).toContain(file.split('/').at(-1));
});

test('a folder is not on the tour of the house', () => {
  const tour = readFileSync(join(repository, 'DEVELOPERS.md'), 'utf8');
  const foldersOf = (path: string) =>
    readdirSync(join(repository, path), { withFileTypes: true })
      .filter((entry) => entry.isDirectory())
      .map(({ name }) => name);
  const names = [
    ...['rules', 'adapters', 'hub'].flatMap(foldersOf),
    ...layers.flatMap((layer: string) => foldersOf(`hub/${layer}`)),
  ];
  expect(names.filter((name) => !new RegExp(`\\b${name}\\b`).test(tour))).toEqual([]);
});
