// Before the tests: the real parts they need are installed where that can be done (Debian, as root), else named.
// `--without chromium` leaves a part out: its tests are not meant to run.
import { spawnSync } from 'node:child_process';
import { parseArgs } from 'node:util';
import { isHere, parts } from './parts.mjs';

const { without } = parseArgs({ options: { without: { type: 'string', multiple: true, default: [] } } }).values;
const missing = () => Object.keys(parts).filter((name) => !without.includes(name) && !isHere(name));
const isRoot = process.getuid?.() === 0;
const hasApt = spawnSync('apt-get', ['--version'], { stdio: 'ignore' }).status === 0;

let absent = missing();
if (absent.length > 0 && isRoot && hasApt) {
  const packages = [...new Set(absent.map((name) => parts[name].package))];
  process.stdout.write(`Installing for the tests: ${packages.join(' ')}\n`);
  // A package that would start a service on install must not: the tests start their own on free ports.
  const env = { ...process.env, DEBIAN_FRONTEND: 'noninteractive', RUNLEVEL: '1' };
  spawnSync('apt-get', ['update', '-q'], { stdio: 'ignore', env });
  spawnSync('apt-get', ['install', '-y', '-q', '--no-install-recommends', ...packages], {
    stdio: ['ignore', 'ignore', 'inherit'],
    env,
  });
  absent = missing();
}
for (const name of absent) {
  process.stderr.write(
    `MISSING: ${name}. Its tests will be skipped. To have it: sudo apt-get install ${parts[name].package}\n`,
  );
}
if (absent.length > 0 && process.env['CI'] === 'true') {
  process.stderr.write('In CI nothing may be skipped.\n');
  process.exitCode = 1;
}
