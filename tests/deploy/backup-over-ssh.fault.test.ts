import { execFileSync, spawnSync } from 'node:child_process';
import { existsSync, mkdirSync, mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir, userInfo } from 'node:os';
import { join } from 'node:path';
import Database from 'better-sqlite3';
import { afterAll, beforeAll, describe, expect, test, vi } from 'vitest';
import { isMissing, programAt } from '../machine/parts.mjs';
import { freePort } from '../servers/free-port.ts';
import { patience, portAnswers, type ServerProcess, startProcess, waitUntil } from '../servers/server-process.ts';
import { type ScratchMachine, scratchMachine, standInHub } from './scratch-machine.ts';

// Many processes one after the other: slow on a loaded machine, and no time is asserted.
vi.setConfig({ testTimeout: 180_000 * patience(), hookTimeout: 180_000 * patience() });

/** deploy/backup.sh to a real sshd on this machine, with the restricted key that backup.env.example describes. */
describe.skipIf(isMissing('sshd') || isMissing('rsync') || isMissing('gnu') || process.getuid?.() !== 0)(
  'over ssh',
  () => {
    let machine: ScratchMachine;
    let sshd: ServerProcess;
    let port: number;
    const dir = mkdtempSync(join(tmpdir(), 'brinekeep-ssh-'));
    const at = (name: string) => join(dir, name);
    const me = userInfo().username;

    const copy = (more: Record<string, string> = {}) => {
      const ran = spawnSync('bash', ['-c', '"$0" 2>&1', join(machine.root, 'opt/brinekeep/current/deploy/backup.sh')], {
        env: {
          ...process.env,
          ...{ BRINEKEEP_ROOT: machine.root, BACKUP_TO: `${me}@127.0.0.1:.`, BACKUP_SSH_PORT: String(port) },
          ...{ BACKUP_SSH_KEY: at('key'), BACKUP_KNOWN_HOSTS: at('known'), ...more },
        },
        encoding: 'utf8',
      });
      return { code: ran.status, out: ran.stdout };
    };

    beforeAll(async () => {
      port = await freePort();
      machine = scratchMachine(1);
      machine.use(machine.addRelease('1.0.0-old', standInHub('old', 1, 'none')));
      const db = new Database(machine.store);
      db.exec("CREATE TABLE written (by TEXT); INSERT INTO written VALUES ('the keeper'); PRAGMA user_version = 1");
      db.close();
      mkdirSync(at('copies'));
      // Without it sshd refuses to start; the package's service makes it.
      mkdirSync('/run/sshd', { recursive: true, mode: 0o755 });
      for (const key of ['host', 'key', 'foreign'])
        execFileSync('ssh-keygen', ['-q', '-t', 'ed25519', '-N', '', '-f', at(key)]);
      writeFileSync(
        at('allowed'),
        `restrict,command="rrsync -wo ${at('copies')}" ${readFileSync(at('key.pub'), 'utf8')}`,
      );
      writeFileSync(at('known'), `[127.0.0.1]:${port} ${readFileSync(at('host.pub'), 'utf8')}`);
      writeFileSync(at('stranger'), `[127.0.0.1]:${port} ${readFileSync(at('foreign.pub'), 'utf8')}`);
      writeFileSync(
        at('sshd.conf'),
        [
          ...[
            `Port ${port}`,
            'ListenAddress 127.0.0.1',
            `HostKey ${at('host')}`,
            `AuthorizedKeysFile ${at('allowed')}`,
          ],
          ...[
            'PasswordAuthentication no',
            'PermitRootLogin yes',
            'StrictModes no',
            'UsePAM no',
            `PidFile ${at('pid')}`,
          ],
        ].join('\n'),
      );
      sshd = startProcess(programAt('sshd'), ['-D', '-e', '-f', at('sshd.conf')]);
      await waitUntil('sshd answers', () => portAnswers(port), { explain: sshd.log });
    });

    afterAll(async () => {
      await sshd?.end('SIGTERM');
      machine?.remove();
      rmSync(dir, { recursive: true, force: true });
    });

    test('the copy is not on the other machine, or cannot be read there', () => {
      const { code, out } = copy();
      expect(out, sshd.log()).toContain('Copied and compared');
      expect(code).toBe(0);
      const name = readdirSync(at('copies')).find((each) => /^day-[1-7]\.db$/.test(each));
      const db = new Database(join(at('copies'), name ?? 'none'), { readonly: true });
      expect(db.prepare('SELECT by FROM written').pluck().get()).toBe('the keeper');
      db.close();
      // The copy that was sent is not kept on the card.
      expect(readdirSync(join(machine.root, 'var/lib/brinekeep/backups'))).toEqual(['last-copy']);
    });

    test('a thief of the key reads the copies, or gets a shell', () => {
      const ssh = [
        '-p',
        String(port),
        '-i',
        at('key'),
        '-o',
        'BatchMode=yes',
        '-o',
        `UserKnownHostsFile=${at('known')}`,
      ];
      const shell = spawnSync('ssh', [...ssh, `${me}@127.0.0.1`, 'cat /etc/hostname'], { encoding: 'utf8' });
      expect(shell.status).not.toBe(0);
      const read = spawnSync('rsync', ['-e', `ssh ${ssh.join(' ')}`, `${me}@127.0.0.1:day-*.db`, at('stolen/')]);
      expect(read.status).not.toBe(0);
      expect(existsSync(at('stolen'))).toBe(false);
    });

    test('the store is sent to a machine that only claims to be the other one', () => {
      const { code, out } = copy({ BACKUP_KNOWN_HOSTS: at('stranger') });
      expect(code).toBe(1);
      expect(out).toMatch(/could not be reached/);
    });
  },
);
