import { mkdirSync, mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, expect, test } from 'vitest';
import { climbingImports } from './check-imports.mjs';

const root = mkdtempSync(join(tmpdir(), 'layers-'));
afterAll(() => rmSync(root, { recursive: true }));

function put(path: string, source: string): void {
  mkdirSync(join(root, path, '..'), { recursive: true });
  writeFileSync(join(root, path), source);
}

test('an import that climbs, or a rule that touches the platform, goes unnoticed', () => {
  put('rules/a/pure.ts', "import { b } from '../b/b.ts';\n");
  put('rules/a/climbs.ts', "import { x } from '#adapters/serial/x.ts';\n");
  put('rules/a/climbs-by-path.ts', "import { x } from '../../hub/x.ts';\n");
  put('rules/a/platform.ts', "import fs from 'node:fs';\n");
  put('rules/a/package.ts', "export { z } from 'zod';\n");
  put('adapters/a/fine.ts', "import { x } from '#rules/a/pure.ts';\nimport m from 'mqtt';\n");
  put('adapters/a/climbs.ts', "const x = await import('#hub/x.ts');\n");
  put('hub/http/knows-adapter.ts', "import { x } from '#adapters/sqlite/store.ts';\n");
  put('hub/http/knows-port.ts', "import type { Store } from '#adapters/ports/store.ts';\n");
  put('hub/compose.ts', "import { x } from '#adapters/sqlite/store.ts';\n");

  expect(
    climbingImports(root)
      .map((line) => line.split(':')[0])
      .sort(),
  ).toEqual([
    'adapters/a/climbs.ts',
    'hub/http/knows-adapter.ts',
    'rules/a/climbs-by-path.ts',
    'rules/a/climbs.ts',
    'rules/a/package.ts',
    'rules/a/platform.ts',
  ]);
});

test('the project itself has an import that climbs', () => {
  expect(climbingImports(process.cwd())).toEqual([]);
});
