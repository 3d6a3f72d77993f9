import { spawnSync } from 'node:child_process';
import { readFileSync } from 'node:fs';
import { resolve } from 'node:path';
import { afterAll, expect, test } from 'vitest';
import { plantedTree } from './planted.ts';

const tree = plantedTree();
afterAll(() => tree.remove());

/** The words of the second look of `npm run lint`, which has the product's entries alone. */
const scripts = (JSON.parse(readFileSync('package.json', 'utf8')) as { scripts: Record<string, string> }).scripts;
const words = /knip (-c knip\.product\.json .*)$/.exec(scripts['lint'] ?? '')?.[1]?.split(' ') ?? [];

function look(): { stdout: string; status: number | null } {
  return spawnSync(resolve('node_modules/.bin/knip'), words, { cwd: tree.root, encoding: 'utf8' });
}

test('a file or an export that only tests use passes for a part of the product', () => {
  for (const path of ['package.json', 'knip.product.json']) tree.copy(path);
  tree.put('hub/main.ts', "import { used } from '../rules/used.ts';\n\nused();\n");
  tree.put('rules/used.ts', 'export const used = () => 1;\n');
  expect(look()).toMatchObject({ status: 0, stdout: expect.not.stringContaining('rules/') });

  tree.put('rules/dead.ts', 'export const dead = () => 2;\n');
  tree.put('tests/rules/dead.test.ts', "import { dead } from '../../rules/dead.ts';\n\ndead();\n");
  const file = look();
  expect(file.stdout).toContain('rules/dead.ts');
  expect(file.stdout).not.toContain('rules/used.ts');
  expect(file.status).not.toBe(0);

  tree.put('rules/dead.ts', '');
  tree.put('hub/main.ts', "import '../rules/dead.ts';\nimport { used } from '../rules/used.ts';\n\nused();\n");
  tree.put('rules/used.ts', 'export const used = () => 1;\nexport const forTests = () => 2;\nexport type Told = 3;\n');
  tree.put(
    'tests/rules/dead.test.ts',
    "import { forTests, type Told } from '../../rules/used.ts';\n\nforTests() as Told;\n",
  );
  const ofExport = look();
  expect(ofExport.stdout).toMatch(/forTests .*rules\/used\.ts/);
  expect(ofExport.stdout).toMatch(/Told .*rules\/used\.ts/);
  expect(ofExport.status).not.toBe(0);
});
