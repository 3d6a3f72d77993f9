import { spawnSync } from 'node:child_process';
import { mkdirSync, mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { expect, test } from 'vitest';
import { patience } from '../servers/server-process.ts';

const repository = fileURLToPath(new URL('../..', import.meta.url));

const codeWith = (release: string) =>
  spawnSync(process.execPath, [join(repository, 'deploy/try-store.mjs'), release], { stdio: 'ignore' }).status;

test('a database that ends the hub when memory is cleaned up passes for a sound one', {
  timeout: 60_000 * patience(),
}, () => {
  expect(codeWith(repository)).toBe(0);
  const release = mkdtempSync(join(tmpdir(), 'brinekeep-unsound-'));
  try {
    const module = join(release, 'node_modules/better-sqlite3');
    mkdirSync(module, { recursive: true });
    writeFileSync(join(release, 'package.json'), '{}');
    writeFileSync(join(module, 'package.json'), '{"main": "index.js"}');
    // Well until the collector comes by, as the native module is with the headers of such a Node.
    writeFileSync(
      join(module, 'index.js'),
      `const collected = new FinalizationRegistry(() => process.abort());
       module.exports = class { exec() {} close() {} prepare() {
         const statement = { iterate: () => ({ next() {}, return() {} }) };
         collected.register(statement, 0);
         return statement;
       } };`,
    );
    expect(codeWith(release)).not.toBe(0);
  } finally {
    rmSync(release, { recursive: true, force: true });
  }
});
