import { spawnSync } from 'node:child_process';
import { chmodSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { afterAll, expect, test } from 'vitest';

const repository = fileURLToPath(new URL('../..', import.meta.url));
const read = (path: string) => readFileSync(join(repository, path), 'utf8');
const dir = mkdtempSync(join(tmpdir(), 'brinekeep-node-'));
afterAll(() => rmSync(dir, { recursive: true, force: true }));

/** This Node under the name of another one. */
function nodeThatSays(version: string): string {
  const path = join(dir, `node-${version}`);
  const disguise = join(dir, `${version}.cjs`);
  writeFileSync(disguise, `Object.defineProperty(process, 'versions', { value: { node: '${version}' } });\n`);
  writeFileSync(path, `#!/bin/sh\nexec '${process.execPath}' --require '${disguise}' "$@"\n`);
  chmodSync(path, 0o755);
  return path;
}

test.each([
  ['18.20.4', false],
  ['20.18.3', false],
  ['20.19.0', true],
  ['22.23.3', true],
  ['24.9.0', true],
  ['24.18.1', true],
  ['24.19.0', false],
  ['26.10.0', false],
])('the installer takes Node %s for another than it is: fits %s', (version, fits) => {
  const asked = spawnSync('bash', [
    '-c',
    '. "$0"; node_fits "$1"',
    join(repository, 'deploy/release.sh'),
    nodeThatSays(version),
  ]);
  expect(asked.status === 0).toBe(fits);
});

test('package.json, the front page and the installer name different Nodes', () => {
  const { engines } = JSON.parse(read('package.json')) as { engines: { node: string } };
  expect(engines.node).toBe('>=20.19 <24.19');
  for (const page of ['README.md', 'deploy/README.md', 'deploy/install.sh', 'deploy/release.sh'])
    expect(read(page), page).toMatch(/from 20\.19 on and before 24\.19/);
});
