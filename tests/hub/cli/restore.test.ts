import { existsSync, mkdirSync, readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import Database from 'better-sqlite3';
import { afterEach, beforeEach, describe, expect, test, vi } from 'vitest';
import { adaptersForVerbs } from '#hub/compose.ts';
import { roomText, scratchRoom } from '../../servers/hub-process.ts';
import { patience } from '../../servers/server-process.ts';
import { verbHere } from './verb-here.ts';

// Slow on a loaded machine, and no time is asserted.
vi.setConfig({ testTimeout: 120_000 * patience(), hookTimeout: 120_000 * patience() });

describe('a file that is no backup is named to restore', () => {
  let scratch: ReturnType<typeof scratchRoom>;
  let config: string;
  let store: string;

  beforeEach(() => {
    scratch = scratchRoom();
    config = join(scratch.dir, 'room.yaml');
    writeFileSync(config, roomText(scratch.dir, {}));
    store = join(scratch.dir, 'data', 'brinekeep.db');
    mkdirSync(join(scratch.dir, 'data'), { recursive: true });
    adaptersForVerbs.hub.openStore({ path: store, flushMs: 1000, onFault: () => {} }).close();
  });
  afterEach(() => scratch.remove());

  const wrongFiles: [string, (path: string) => void][] = [
    ['a table', (path) => writeFileSync(path, `time,system,metric,value\n${'x,'.repeat(4000)}`)],
    ['an empty file', (path) => writeFileSync(path, '')],
    ['a folder', (path) => mkdirSync(path)],
    [
      "another program's database",
      (path) => {
        const db = new Database(path);
        db.exec('PRAGMA user_version = 2; CREATE TABLE shopping (what TEXT)');
        db.close();
      },
    ],
  ];
  test.each(wrongFiles)('%s is told as the wrong file, and what to name instead', async (_what, make) => {
    const wrong = join(scratch.dir, 'chosen');
    make(wrong);
    const before = readFileSync(store);
    const { code, err, out } = await verbHere(['restore', '--config', config, wrong]);
    expect({ code, out }).toEqual({ code: 1, out: '' });
    expect(err.trim()).toBe(
      `${wrong} is not a backup of Brinekeep. Nothing was changed. Name a file that \`brinekeep backup\` wrote, such as brinekeep-2026-07-01.db.`,
    );
    expect(readFileSync(store).equals(before)).toBe(true);
  });

  test('a real backup is taken still', async () => {
    const copy = join(scratch.dir, 'copy.db');
    expect((await verbHere(['backup', '--config', config, copy])).code).toBe(0);
    const { code, err } = await verbHere(['restore', '--config', config, copy]);
    expect({ code, err }).toEqual({ code: 0, err: '' });
    expect(existsSync(store)).toBe(true);
  });
});
