// Before the tests: names the real parts that are missing, by this platform's own packages. They are installed only in CI, with
// BRINEKEEP_INSTALL=1, or after a yes at a terminal; on Debian as root.
// `--without chromium` leaves a part out: its tests are not meant to run.
import { spawnSync } from 'node:child_process';
import { existsSync, rmSync, writeFileSync } from 'node:fs';
import { createInterface } from 'node:readline/promises';
import { parseArgs } from 'node:util';
import { howToHave, parts, placeOf } from './parts.mjs';

const isCI = process.env['CI'] === 'true';
const { without } = parseArgs({ options: { without: { type: 'string', multiple: true, default: [] } } }).values;
const absent = Object.keys(parts).filter((name) => !without.includes(name) && placeOf(name) === undefined);
const packages = [...new Set(absent.map((name) => parts[name].apt))];

function canInstall() {
  return process.getuid?.() === 0 && spawnSync('apt-get', ['--version'], { stdio: 'ignore' }).status === 0;
}

async function mayInstall() {
  if (isCI || process.env['BRINEKEEP_INSTALL'] === '1') return true;
  if (!process.stdin.isTTY || !process.stdout.isTTY) return false;
  const asking = createInterface({ input: process.stdin, output: process.stdout });
  const answer = await asking.question(`The tests want ${packages.join(' ')}. Install them? [y/N] `);
  asking.close();
  return /^y(es)?$/i.test(answer.trim());
}

/** Debian starts the services of what it installs unless this file says no; the tests start their own on free ports. */
const policy = '/usr/sbin/policy-rc.d';

function install() {
  process.stdout.write(`Installing for the tests: ${packages.join(' ')}\n`);
  const env = { ...process.env, DEBIAN_FRONTEND: 'noninteractive' };
  const isOurs = !existsSync(policy);
  if (isOurs) writeFileSync(policy, '#!/bin/sh\nexit 101\n', { mode: 0o755 });
  try {
    spawnSync('apt-get', ['update', '-q'], { stdio: 'ignore', env });
    const args = ['install', '-y', '-q', '--no-install-recommends', ...packages];
    spawnSync('apt-get', args, { stdio: ['ignore', 'ignore', 'inherit'], env });
  } finally {
    if (isOurs) rmSync(policy);
  }
}

if (absent.length > 0 && canInstall() && (await mayInstall())) install();
// Looked at afresh: what was missing is remembered as missing within a process.
const { placeOf: placeNow } = await import('./parts.mjs?after');
const still = absent.filter((name) => placeNow(name) === undefined);
for (const name of still)
  process.stderr.write(`MISSING: ${name}. Its tests are skipped. To have it: ${howToHave(name)}\n`);
if (still.length > 0 && !isCI && canInstall()) process.stderr.write('BRINEKEEP_INSTALL=1 npm test installs them.\n');
if (still.length > 0 && isCI) {
  process.stderr.write('In CI nothing may be skipped.\n');
  process.exitCode = 1;
}
