import { spawnSync } from 'node:child_process';
import { accessSync, constants, existsSync, mkdirSync, mkdtempSync, readdirSync, rmSync, statSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import Database from 'better-sqlite3';
import { afterEach, beforeEach, describe, expect, test, vi } from 'vitest';
import { isMissing } from '../machine/parts.mjs';
import { patience } from '../servers/server-process.ts';
import { type ScratchMachine, scratchMachine, standInHub } from './scratch-machine.ts';

// Many processes one after the other: slow on a loaded machine, and no time is asserted.
vi.setConfig({ testTimeout: 180_000 * patience(), hookTimeout: 180_000 * patience() });

/** deploy/backup.sh onto a real second file system: the memory disk that Linux machines have. */
const secondDisk = '/dev/shm';

function isOtherDisk(): boolean {
  try {
    accessSync(secondDisk, constants.W_OK);
    return statSync(secondDisk).dev !== statSync(tmpdir()).dev && statSync(secondDisk).dev !== statSync('/').dev;
  } catch {
    return false;
  }
}

let machine: ScratchMachine;
let folder: string;

beforeEach(() => {
  machine = scratchMachine(1);
  machine.use(machine.addRelease('1.0.0-old', standInHub('old', 1, 'none')));
  const db = new Database(machine.store);
  db.exec("CREATE TABLE written (by TEXT); INSERT INTO written VALUES ('the keeper'); PRAGMA user_version = 1");
  db.close();
});

afterEach(() => {
  machine.remove();
  if (folder) rmSync(folder, { recursive: true, force: true });
});

/** The script out of the release, as the unit calls it. */
const copyTo = (to: string) => {
  const script = join(machine.root, 'opt/brinekeep/current/deploy/backup.sh');
  const ran = spawnSync('bash', ['-c', '"$0" 2>&1', script], {
    env: { ...process.env, BRINEKEEP_ROOT: machine.root, BACKUP_TO: to },
    encoding: 'utf8',
  });
  return { code: ran.status, out: ran.stdout };
};

describe.skipIf(!isOtherDisk() || isMissing('gnu'))('with a second disk', () => {
  test('the copy is not there, cannot be read, or fills the disk night by night', () => {
    folder = mkdtempSync(join(secondDisk, 'brinekeep-copies-'));
    let runs = 0;
    let copies: { out: string; code: number | null; names: string[] }[] = [];
    // Two of one day: with midnight between them the second has other slots, and rightly.
    for (let day = ''; day !== new Date().toDateString(); runs += 1) {
      for (const name of readdirSync(folder)) rmSync(join(folder, name));
      day = new Date().toDateString();
      copies = [1, 2].map(() => ({ ...copyTo(folder), names: readdirSync(folder).sort() }));
    }
    expect(runs).toBeLessThanOrEqual(2);
    expect(copies.map(({ code }) => code)).toEqual([0, 0]);
    for (const { out } of copies) expect(out).toContain('Copied and compared');
    const names = copies[0]?.names ?? [];
    expect(names.filter((name) => /^day-[1-7]\.db$/.test(name))).toHaveLength(1);
    expect(names.filter((name) => /^month-\d\d\.db$/.test(name))).toHaveLength(1);
    for (const name of names.filter((each) => each.endsWith('.db'))) {
      const db = new Database(join(folder, name), { readonly: true });
      expect(db.prepare('SELECT by FROM written').pluck().get()).toBe('the keeper');
      db.close();
    }
    // Another run of the same day takes the same slots.
    expect(copies[1]?.names).toEqual(names);
  });
});

test('the second disk is not mounted, and the card is filled instead', () => {
  folder = mkdtempSync(join(tmpdir(), 'brinekeep-unmounted-'));
  const { code, out } = copyTo(folder);
  expect(code).toBe(1);
  expect(out).toMatch(/same disk/);
  expect(readdirSync(folder)).toEqual([]);
});

test('a folder that is gone is made anew on the card', () => {
  const gone = join(machine.root, 'mnt/gone');
  mkdirSync(join(machine.root, 'mnt'));
  const { code, out } = copyTo(gone);
  expect(code).toBe(1);
  expect(out).toMatch(/no such folder/);
  expect(existsSync(gone)).toBe(false);
});

test('a place that is none looks like a success', () => {
  expect(copyTo('').code).toBe(1);
  expect(copyTo('copies').code).toBe(1);
});
