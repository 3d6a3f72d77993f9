import { spawnSync } from 'node:child_process';
import { resolve } from 'node:path';
import { afterAll, expect, test } from 'vitest';
import { plantedTree } from './planted.ts';

const tree = plantedTree();
afterAll(() => tree.remove());

test('what only tests use passes for a part of the product', () => {
  for (const path of ['package.json', 'knip.product.json']) tree.copy(path);
  tree.put('hub/main.ts', "import { used } from '../rules/used.ts';\n\nused();\n");
  tree.put('rules/used.ts', 'export const used = () => 1;\n');
  const look = () =>
    spawnSync(resolve('node_modules/.bin/knip'), ['-c', 'knip.product.json', '--include', 'files'], {
      cwd: tree.root,
      encoding: 'utf8',
    });
  expect(look().stdout).not.toContain('rules/');
  tree.put('rules/dead.ts', 'export const dead = () => 2;\n');
  tree.put('tests/rules/dead.test.ts', "import { dead } from '../../rules/dead.ts';\n\ndead();\n");
  const found = look();
  expect(found.stdout).toContain('rules/dead.ts');
  expect(found.stdout).not.toContain('rules/used.ts');
  expect(found.status).not.toBe(0);
});
