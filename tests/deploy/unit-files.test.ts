import { execFileSync, spawnSync } from 'node:child_process';
import { chmodSync, cpSync, mkdirSync, mkdtempSync, readdirSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { afterAll, describe, expect, test } from 'vitest';
import { isMissing } from '../machine/parts.mjs';
import { patience } from '../servers/server-process.ts';

const deploy = fileURLToPath(new URL('../../deploy', import.meta.url));
const scripts = ['', 'mosquitto', 'influxdb2'].flatMap((folder) =>
  readdirSync(join(deploy, folder))
    .filter((name) => name.endsWith('.sh'))
    .map((name) => join(deploy, folder, name)),
);

test('a script does not even parse', () => {
  expect(scripts.length).toBeGreaterThanOrEqual(8);
  for (const script of scripts) execFileSync('bash', ['-n', script]);
});

// Where it is installed; the parse above is held everywhere.
test.skipIf(isMissing('shellcheck'))(
  'a script has one of the known traps of the shell',
  { timeout: 120_000 * patience() },
  () => {
    const checked = spawnSync('shellcheck', ['-x', '-P', `SCRIPTDIR:${dirname(deploy)}`, ...scripts], {
      encoding: 'utf8',
    });
    expect(checked.stdout).toBe('');
    expect(checked.status).toBe(0);
  },
);

describe.skipIf(isMissing('systemd-analyze'))('the units', () => {
  const root = mkdtempSync(join(tmpdir(), 'brinekeep-units-'));
  afterAll(() => rmSync(root, { recursive: true, force: true }));

  test.each(['brinekeep', 'brinekeep-backup'])('%s lies open to whoever breaks into it', (unit) => {
    const told = execFileSync(
      'systemd-analyze',
      ['security', '--offline=true', join(deploy, 'systemd', `${unit}.service`)],
      { encoding: 'utf8', stdio: ['ignore', 'pipe', 'ignore'] },
    );
    const exposure = /Overall exposure level for \S+: ([\d.]+)/.exec(told)?.[1];
    expect(Number(exposure)).toBeLessThanOrEqual(2);
  });

  test('systemd does not understand a unit', () => {
    const units = join(root, 'etc/systemd/system');
    cpSync(join(deploy, 'systemd'), units, { recursive: true });
    // The programs that the units name; verify looks whether they are there.
    for (const program of ['current/bin/node', 'current/deploy/backup.sh']) {
      const path = join(root, 'opt/brinekeep', program);
      mkdirSync(dirname(path), { recursive: true });
      writeFileSync(path, '#!/bin/sh\n');
      chmodSync(path, 0o755);
    }
    // The targets that a unit leans on.
    cpSync('/usr/lib/systemd/system', join(root, 'usr/lib/systemd/system'), {
      recursive: true,
      filter: (path) =>
        !/\.(wants|requires|d)$/.test(path) && (path.endsWith('system') || /\.(target|slice|socket)$/.test(path)),
    });
    for (const unit of readdirSync(units)) {
      const verified = spawnSync('systemd-analyze', ['verify', '--man=no', `--root=${root}`, join(units, unit)], {
        encoding: 'utf8',
      });
      // Keys of later versions are passed over with a word; everything else about our own units is a mistake.
      const complaints = verified.stderr
        .split('\n')
        .filter(
          (line) =>
            line.includes('brinekeep') &&
            !/Unknown key '?Restart(Steps|MaxDelaySec)|Unknown key name 'Restart/.test(line),
        );
      expect(complaints, verified.stderr).toEqual([]);
    }
  });
});
