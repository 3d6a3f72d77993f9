import { execFileSync, spawn } from 'node:child_process';
import {
  chmodSync,
  chownSync,
  closeSync,
  existsSync,
  mkdirSync,
  openSync,
  readdirSync,
  readFileSync,
  writeFileSync,
} from 'node:fs';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, test, vi } from 'vitest';
import { writeOver } from '#adapters/csv/write-over.ts';
import { failingDisk } from '../../faults/failing-disk.ts';
import { fillUp, mountSmallDisk } from '../../faults/spoiled.ts';
import { isMissing } from '../../machine/parts.mjs';
import { hubCommand } from '../../servers/hub-command.ts';
import { roomText, scratchRoom } from '../../servers/hub-process.ts';
import { patience } from '../../servers/server-process.ts';
import { verbHere } from './verb-here.ts';

// Slow on a loaded machine, and no time is asserted.
vi.setConfig({ testTimeout: 120_000 * patience(), hookTimeout: 120_000 * patience() });

const rowsOf = (day: number) =>
  [
    'time,system,metric,value',
    ...[10, 20, 30].map((minute) => `2026-11-0${day}T10:${minute}Z,display,temperature,25.${minute}`),
  ].join('\n');

/** Another user than root: to root all folders are open. */
const nobody = 54_323;

const names = [
  ...['backup', 'restore', 'export of a week', 'export of everything', 'import of readings', 'import of everything'],
  ...['setup', 'token'],
] as const;

type Place = { store: string; folder: string; config: string };
type Told = { code: number | null; err: string };

describe.skipIf(process.getuid?.() !== 0)('a disk that does not take what a verb writes', () => {
  const { dir, remove } = scratchRoom();
  const at = (name: string) => join(dir, name);
  const ends: (() => void)[] = [];
  const places = new Map<string, Place>();
  const rows = at('rows.csv');
  const backup = at('sound.db');
  const record = at('record.jsonl');
  let sound: Place;

  /** A store on a disk of its own, with a folder and a configuration beside it. */
  async function place(name: string): Promise<Place> {
    const disk = at(name);
    ends.push(mountSmallDisk(disk));
    const made = { store: join(disk, 'data'), folder: join(disk, 'folder'), config: join(disk, 'room.yaml') };
    mkdirSync(made.store);
    mkdirSync(made.folder);
    writeFileSync(made.config, roomText(dir, { data_dir: made.store, http: { port: 1 } }));
    writeFileSync(at('first.csv'), rowsOf(1));
    const taken = await verbHere(['import', '--config', made.config, '--as', 'readings', at('first.csv')]);
    expect({ code: taken.code, err: taken.err }).toEqual({ code: 0, err: '' });
    places.set(name, made);
    return made;
  }

  /** The verb as a process of its own, under another user or with a library before the others. */
  function verbAs(args: readonly string[], { uid = 0, env = {}, output = 'pipe' as number | 'pipe' }): Promise<Told> {
    return new Promise((resolve, reject) => {
      const child = spawn(process.execPath, [...hubCommand(), ...args], {
        ...{ uid, gid: uid, cwd: '/', stdio: ['ignore', output, 'pipe'] },
        env: { PATH: process.env['PATH'] ?? '', HOME: dir, ...env },
      });
      let err = '';
      child.stdout?.resume();
      child.stderr?.on('data', (chunk: Buffer) => (err += chunk.toString('utf8')));
      child.once('error', reject);
      child.once('close', (code) => resolve({ code, err }));
    });
  }

  const verbs = (to: Place): Record<string, { args: string[]; writes: string }> => ({
    backup: { args: ['backup', join(to.folder, 'b.db'), '--config', sound.config], writes: join(to.folder, 'b.db') },
    restore: { args: ['restore', backup, '--config', to.config], writes: join(to.store, 'brinekeep.db') },
    'export of a week': {
      args: ['export', sound.config, '--week', '2026-W45', '--out', join(to.folder, 'w')],
      writes: join(to.folder, 'w'),
    },
    'export of everything': { args: ['export', to.config, '--everything'], writes: to.store },
    'import of readings': { args: ['import', '--config', to.config, '--as', 'readings', rows], writes: to.store },
    'import of everything': {
      args: ['import', '--config', to.config, '--as', 'everything', '--replace', record],
      writes: to.store,
    },
    setup: {
      args: [
        ...['setup', join(to.folder, 'new.yaml'), '--unattended', '--volume', '100', '--port', '/dev/null'],
        ...['--seconds-per-speed', '0.1', '--broker-url', '-'],
      ],
      writes: join(to.folder, 'new.yaml'),
    },
    token: { args: ['token', 'add', to.config, '--name', 'a', '--scope', 'read'], writes: to.store },
  });

  function expectWords({ code, err }: Told, writes: string, says: string): void {
    expect({ code, err }).toEqual({ code: 1, err: expect.stringContaining(says) });
    expect(err).toContain(writes);
    // In words, once: no stack, and no code of the operating system or the database.
    expect(err).not.toMatch(/^\s+at |\bE[A-Z]{4,}\b|SQLITE|STORE_|node:internal|XXXX|unfinished|importing/m);
    expect(err.trimEnd().split('\n')).toHaveLength(1);
  }

  beforeAll(async () => {
    chmodSync(dir, 0o755);
    sound = await place('sound');
    writeFileSync(rows, rowsOf(2));
    expect((await verbHere(['backup', backup, '--config', sound.config])).code).toBe(0);
    writeFileSync(record, (await verbHere(['export', sound.config, '--everything'])).out);
    for (const name of ['full', 'readonly', 'closed', 'failing']) await place(name);
    fillUp(join(at('full'), 'ballast'));
    execFileSync('mount', ['-o', 'remount,ro', at('readonly')]);
    const { store, folder, config } = places.get('closed')!;
    for (const each of [config, sound.config, backup, rows, record]) chmodSync(each, 0o644);
    for (const each of [at('closed'), at('sound'), store, folder]) chmodSync(each, 0o755);
    // The stores are theirs; what is closed to them is where a verb would write.
    chownSync(sound.store, nobody, nobody);
    for (const each of [sound.store, store])
      for (const name of readdirSync(each)) chownSync(join(each, name), nobody, nobody);
  });
  afterAll(() => {
    for (const end of ends) end();
    remove();
  });

  test.each(names)('%s on a full disk ends in a riddle, or leaves half a file', async (name) => {
    const to = places.get('full')!;
    const { args, writes } = verbs(to)[name]!;
    const before = [readdirSync(to.folder), readdirSync(to.store).filter((each) => each.startsWith('brinekeep.db'))];
    const ended = await verbHere(args);
    expectWords(ended, writes, 'the disk is full. Free space on it (df -h');
    expect(existsSync(join(to.folder, 'new.yaml'))).toBe(false);
    expect(readdirSync(to.folder).filter((each) => each !== 'w')).toEqual(before[0]!.filter((each) => each !== 'w'));
    expect(readdirSync(to.store).filter((each) => /importing|unfinished|replaced/.test(each))).toEqual([]);
  });

  test.each(names)('%s on a read-only disk ends in a riddle', async (name) => {
    const { args, writes } = verbs(places.get('readonly')!)[name]!;
    expectWords(
      await verbHere(args),
      writes,
      'the disk is read-only. A card that turns read-only by itself is wearing out',
    );
  });

  test.each(names)('%s where one may not write does not say who may', async (name) => {
    const { args, writes } = verbs(places.get('closed')!)[name]!;
    expectWords(
      await verbAs(args, { uid: nobody }),
      writes,
      `the user ${nobody} may not write there. Put sudo before the command`,
    );
  });

  test.skipIf(isMissing('gcc'))('a disk that reports errors is told as a fault of ours', async () => {
    const to = places.get('failing')!;
    const env = failingDisk(dir, { writeBelow: '/failing/' });
    for (const name of ['backup', 'import of readings', 'export of a week', 'token']) {
      const { args, writes } = verbs(to)[name]!;
      expectWords(await verbAs(args, { env }), writes, 'the disk reports an error. Check card, cable and power');
    }
  });

  test('an output that cannot be written is called done, or leaves its copy of the store behind', async () => {
    const full = openSync('/dev/full', 'w');
    for (const args of [
      ['export', sound.config, '--everything'],
      ['export', sound.config, '--readings', '--from', '2026-11-01'],
      ['calc', 'salinity', '--conductivity_mS_cm', '53', '--temperature_C', '25'],
    ])
      expectWords(await verbAs(args, { output: full }), 'standard output', 'the disk is full');
    closeSync(full);
    expect(readdirSync(sound.store).filter((each) => each.startsWith('export-'))).toEqual([]);
  });

  test('a configuration that has no room for a change is cut short', () => {
    const path = join(at('full'), 'kept.yaml');
    // Larger than what the ballast left, and on a page of its own.
    execFileSync('sh', ['-c', `truncate -s -8k ${join(at('full'), 'ballast')}`]);
    const before = `${'# mine\n'.repeat(1000)}`;
    writeFileSync(path, before);
    try {
      fillUp(join(at('full'), 'more'));
      expect(() => writeOver(path, `new: true\n${before}${'# added\n'.repeat(2000)}`)).toThrow(/ENOSPC/);
      expect(readFileSync(path, 'utf8')).toBe(before);
    } finally {
      execFileSync('rm', ['-f', path, join(at('full'), 'more')]);
      fillUp(join(at('full'), 'rest'));
    }
  });
});
