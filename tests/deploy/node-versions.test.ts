import { spawnSync } from 'node:child_process';
import { chmodSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { afterAll, expect, test } from 'vitest';
import { hubCommand } from '../servers/hub-command.ts';

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

const nodes: [version: string, isLateEnough: boolean][] = [
  ['18.20.4', false],
  ['20.20.2', false],
  ['22.13.1', false],
  ['22.14.0', true],
  ['22.23.5', true],
  ['24.0.0', true],
  ['24.21.0', true],
  ['26.10.0', true],
];

test.each(nodes)('the installer takes Node %s for another than it is: fits %s', (version, fits) => {
  const asked = spawnSync('bash', [
    '-c',
    '. "$0"; node_fits "$1"',
    join(repository, 'deploy/release.sh'),
    nodeThatSays(version),
  ]);
  expect(asked.status === 0).toBe(fits);
});

test.each(nodes)('the program takes Node %s for another than it is: runs %s', (version, isRunning) => {
  const ran = spawnSync(nodeThatSays(version), [...hubCommand(), '--version'], { encoding: 'utf8' });
  if (isRunning) {
    expect(ran).toMatchObject({ status: 0, stdout: expect.stringMatching(/^\d+\.\d+\.\d+\n$/) });
  } else {
    expect(ran).toMatchObject({ status: 2, stdout: '' });
    expect(ran.stderr).toMatch(
      new RegExp(`^Brinekeep needs Node 22\\.14 or later and this is Node ${version}: .*\\.\n$`),
    );
  }
});

test('before the program has looked at the Node it reads what an old one ends at', () => {
  expect(read('hub/main.ts')).not.toMatch(/^import /m);
});

test('package.json, the types, the front page and the installer name different Nodes', () => {
  const { engines, devDependencies } = JSON.parse(read('package.json')) as {
    engines: { node: string };
    devDependencies: Record<string, string>;
  };
  expect(engines.node).toBe('>=22.14');
  expect(devDependencies['@types/node']).toMatch(/^22\.14\./);
  for (const page of ['README.md', 'deploy/README.md', 'deploy/install.sh', 'deploy/release.sh', 'hub/main.ts'])
    expect(read(page), page).toMatch(/22\.14 or later/);
});
