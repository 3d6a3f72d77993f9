import { execFileSync, spawnSync } from 'node:child_process';
import { resolve } from 'node:path';
import { afterAll, expect, test } from 'vitest';
import { plantedTree } from './planted.ts';

const tree = plantedTree();
afterAll(() => tree.remove());
for (const path of [
  'package.json',
  'biome.json',
  'tsconfig.json',
  'rules/tsconfig.json',
  'tests/layering/pure-rules.grit',
])
  tree.copy(path);
tree.put('.gitignore', 'node_modules\n');
execFileSync('git', ['init', '-q'], { cwd: tree.root });

/** What a source in `rules/` is told, by the lint and by the compiler, as the build runs both. */
function complaintsAbout(source: string): { lint: string; types: string } {
  tree.put('rules/bands/planted.ts', source);
  const run = (tool: string, ...args: string[]) => {
    const ended = spawnSync(resolve('node_modules/.bin', tool), args, { cwd: tree.root, encoding: 'utf8' });
    return ended.status === 0 ? '' : `${ended.stdout}${ended.stderr}`;
  };
  return { lint: run('biome', 'lint', 'rules'), types: run('tsc', '-p', 'rules/tsconfig.json') };
}

test.each([
  'Date.now()',
  'new Date()',
  'new Date(2026, 1)',
  'Date()',
  'Math.random()',
  '[1].map(Math.random)',
  'Reflect.construct(Date, [])',
])('a rule asks the machine for time or chance by %s, and the lint is silent', (expression) => {
  expect(complaintsAbout(`export const planted = ${expression};\n`).lint).toContain(
    'rules/ has no clock and no chance',
  );
});

test.each(['process.uptime()', 'performance.now()', 'setTimeout(() => {}, 1)', "fetch('http://a.example')"])(
  'a rule touches the platform by %s, and lint or types are silent',
  (expression) => {
    const { lint, types } = complaintsAbout(`export const planted = ${expression};\n`);
    expect(lint).toContain('noRestrictedGlobals');
    expect(types).toContain('Cannot find name');
  },
);

test('a rule that turns a moment it was given into words is complained about', () => {
  const source =
    'export const words = (timeMs: number) => new Date(timeMs).toISOString() + Date.UTC(2026, 0) + Math.max(1, 2);\n';
  expect(complaintsAbout(source)).toEqual({ lint: '', types: '' });
});
