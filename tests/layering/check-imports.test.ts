import { afterEach, beforeEach, expect, test } from 'vitest';
import { breachesOf } from './check-imports.mjs';
import { allImports, importsByRoom, matrixText } from './import-graph.mjs';
import { type PlantedTree, plantedTree } from './planted.ts';

let tree: PlantedTree;
beforeEach(() => {
  tree = plantedTree();
});
afterEach(() => tree.remove());

/** The first word of each complaint: the file, or the folders of a circle. */
const found = () => breachesOf(tree.root).map((line) => line.split(':')[0]);

test('an import that climbs out of its part of the product goes unnoticed', () => {
  tree.put('rules/a/pure.ts', "import { b } from '../b/b.ts';\n");
  tree.put('rules/a/climbs.ts', "import { x } from '#adapters/serial/x.ts';\n");
  tree.put('rules/a/climbs-by-path.ts', "import { x } from '../../hub/x.ts';\n");
  tree.put('rules/a/platform.ts', "import fs from 'node:fs';\n");
  tree.put('rules/a/package.ts', "export { z } from 'zod';\n");
  tree.put('adapters/a/fine.ts', "import { x } from '#rules/a/pure.ts';\nimport m from 'mqtt';\n");
  tree.put('adapters/a/climbs.ts', "const x = await import('#hub/x.ts');\n");
  tree.put('hub/http/knows-adapter.ts', "import { x } from '#adapters/sqlite/store.ts';\n");
  tree.put('hub/http/knows-port.ts', "import type { Store } from '#adapters/ports/store.ts';\n");
  tree.put('hub/compose.ts', "import { x } from '#adapters/sqlite/store.ts';\n");

  expect(found().sort()).toEqual([
    'adapters/a/climbs.ts',
    'hub/http/knows-adapter.ts',
    'rules/a/climbs-by-path.ts',
    'rules/a/climbs.ts',
    'rules/a/package.ts',
    'rules/a/platform.ts',
  ]);
});

test.each([
  ['model', 'flow/clock'],
  ['flow', 'judgement/watch'],
  ['judgement', 'reports/week'],
  ['reports', 'outside/fleet'],
  ['outside', 'http'],
  ['model', 'room'],
])('a layer imports what stands above it: %s of %s', (layer, above) => {
  tree.put(`hub/${layer}/a/below.ts`, `import { x } from '../../${above}/x.ts';\n`);
  tree.put(`hub/${layer}/a/names-a-type.ts`, `import type { X } from '../../${above}/x.ts';\n`);
  expect(found().sort()).toEqual([`hub/${layer}/a/below.ts`, `hub/${layer}/a/names-a-type.ts`]);
});

test('a layer that imports lower ones and its neighbours is complained about', () => {
  tree.put('hub/outside/a/x.ts', "import { y } from '../../reports/week/y.ts';\nimport { z } from '../b/z.ts';\n");
  tree.put('hub/reports/week/y.ts', "import { c } from '../../model/config/c.ts';\n");
  tree.put('hub/http/r.ts', "import { x } from '../outside/a/x.ts';\nimport { s } from '../api/s.ts';\n");
  tree.put('hub/cli/v.ts', "import { h } from '../room/h.ts';\nimport { y } from '../reports/week/y.ts';\n");
  expect(found()).toEqual([]);
});

test('two folders of a layer, or of the rules, import each other and nobody is told by which files', () => {
  tree.put('hub/flow/clock/a.ts', "import type { P } from '../pipeline/p.ts';\n");
  tree.put('hub/flow/pipeline/p.ts', "import { e } from '../entries/e.ts';\n");
  tree.put('hub/flow/entries/e.ts', "import { a } from '../clock/a.ts';\n");
  tree.put('rules/a/a.ts', "import { b } from '../b/b.ts';\n");
  tree.put('rules/b/b.ts', "import { a } from '../a/a.ts';\n");
  const complaints = breachesOf(tree.root);
  expect(complaints).toHaveLength(2);
  expect(complaints.join('\n')).toContain('hub/flow/clock, hub/flow/entries, hub/flow/pipeline: form a circle');
  expect(complaints.join('\n')).toContain('rules/a, rules/b: form a circle');
  expect(complaints.join('\n')).toContain('hub/flow/entries/e.ts -> hub/flow/clock/a.ts');
});

test('an import that climbs is lost among the hundreds that its circle is made of', () => {
  tree.put('hub/model/config/c.ts', "import { h } from '../../room/h.ts';\n");
  tree.put('hub/flow/clock/a.ts', "import { c } from '../../model/config/c.ts';\n");
  tree.put('hub/room/h.ts', "import { a } from '../flow/clock/a.ts';\n");
  expect(breachesOf(tree.root)).toEqual([expect.stringContaining('hub/model/config/c.ts: imports "../../room/h.ts"')]);
});

test('routes, contract, page or verbs import what is not theirs', () => {
  tree.put('hub/api/a.ts', "import { x } from '../flow/clock/x.ts';\n");
  tree.put('hub/http/h.ts', "import { x } from '../room/hub.ts';\n");
  tree.put('hub/web/src/w.ts', "import { x } from '../../outside/access/x.ts';\n");
  tree.put('hub/setup/s.ts', "import { x } from '../room/hub.ts';\n");
  tree.put('hub/cli/c.ts', "import { x } from '../compose.ts';\n");
  expect(found().sort()).toEqual([
    'hub/api/a.ts',
    'hub/cli/c.ts',
    'hub/http/h.ts',
    'hub/setup/s.ts',
    'hub/web/src/w.ts',
  ]);
});

test('the page takes a module of the platform into the browser, by way of others', () => {
  tree.put(
    'hub/web/src/w.tsx',
    "import { x } from '../../reports/week/x.ts';\nimport { signal } from '@preact/signals';\n",
  );
  tree.put('hub/reports/week/x.ts', "export { y } from './y.ts';\nimport type { S } from 'node:stream';\n");
  tree.put('hub/reports/week/y.ts', "import { readFileSync } from 'node:fs';\n");
  tree.put('hub/reports/week/other.ts', "import { readFileSync } from 'node:fs';\n");
  expect(found()).toEqual(['hub/reports/week/y.ts']);
});

test('the table of imports hides a circle', () => {
  tree.put(
    'hub/flow/clock/a.ts',
    "import { m } from '../../model/config/m.ts';\nimport { p } from '../pipeline/p.ts';\n",
  );
  const counts = () => matrixText(importsByRoom(allImports(tree.root)));
  expect(counts()).toMatch(/flow\/clock +1 +1? *\./);
  expect(counts()).toContain('no circle');
  tree.put('hub/flow/pipeline/p.ts', "import { a } from '../clock/a.ts';\n");
  expect(counts()).toContain('circle: hub/flow/clock, hub/flow/pipeline');
});

test('the project itself breaks the law of imports', () => {
  expect(breachesOf(process.cwd())).toEqual([]);
});
