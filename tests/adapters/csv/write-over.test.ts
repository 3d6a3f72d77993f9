import { spawnSync } from 'node:child_process';
import {
  chmodSync,
  chownSync,
  lstatSync,
  mkdtempSync,
  readdirSync,
  readFileSync,
  rmSync,
  statSync,
  symlinkSync,
  writeFileSync,
} from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeEach, describe, expect, test } from 'vitest';
import { writeOver } from '#adapters/csv/write-over.ts';

const dir = mkdtempSync(join(tmpdir(), 'brinekeep-over-'));
const path = join(dir, 'room.yaml');
const isRoot = process.getuid?.() === 0;

beforeEach(() => {
  rmSync(path, { force: true });
  writeFileSync(path, 'old: true\n', { mode: 0o640 });
  chmodSync(path, 0o640);
});
afterAll(() => rmSync(dir, { recursive: true, force: true }));

describe('another text over a file', () => {
  test('is torn by a power cut: it is written into the file that stands there', () => {
    const before = statSync(path).ino;
    expect(writeOver(path, 'new: true\n')).toBeUndefined();
    expect(readFileSync(path, 'utf8')).toBe('new: true\n');
    // Another file took its place in one step; the old one was never touched.
    expect(statSync(path).ino).not.toBe(before);
    expect(readdirSync(dir)).toEqual(['room.yaml']);
  });

  test('belongs to somebody else, or may be read by more, than before', () => {
    // Root alone may give a file to somebody else.
    const owner = isRoot ? ([54_321, 54_322] as const) : ([process.getuid!(), process.getgid!()] as const);
    chownSync(path, ...owner);
    writeOver(path, 'new: true\n');
    const { mode, uid, gid } = statSync(path);
    expect([mode & 0o777, uid, gid]).toEqual([0o640, ...owner]);
  });

  test('stands beside the link that led to it', () => {
    const link = join(dir, 'link.yaml');
    symlinkSync(path, link);
    writeOver(link, 'new: true\n');
    expect(lstatSync(link).isSymbolicLink()).toBe(true);
    expect(readFileSync(path, 'utf8')).toBe('new: true\n');
    rmSync(link);
  });

  test('fails for what an earlier try left behind, or makes a file where none was', () => {
    writeFileSync(join(dir, '.room.yaml.new'), 'half a te');
    expect(writeOver(path, 'new: true\n')).toBeUndefined();
    expect(readdirSync(dir)).toEqual(['room.yaml']);
    expect(() => writeOver(join(dir, 'no-such-file'), 'text')).toThrow(/ENOENT/);
  });

  test.skipIf(isRoot)(
    'is refused in a folder that takes no second file, or does not say that it is written in its place',
    () => {
      const before = statSync(path).ino;
      chmodSync(dir, 0o500);
      try {
        expect(writeOver(path, 'a: 1\n')).toMatch(/EACCES/);
        expect(readFileSync(path, 'utf8')).toBe('a: 1\n');
        expect(statSync(path).ino).toBe(before);
      } finally {
        chmodSync(dir, 0o700);
      }
    },
  );

  // As in the sandbox of the service: the folder read-only, the file mounted by itself and writable.
  const canMount = isRoot && spawnSync('unshare', ['-m', 'true']).status === 0;
  test.skipIf(!canMount)('is refused where the service may write the one file and nothing beside it', () => {
    const code = `import('${new URL('../../../adapters/csv/write-over.ts', import.meta.url).href}').then(({ writeOver }) => console.log(writeOver('${path}', 'b: 2\\n')))`;
    const script = [
      `mount --bind ${dir} ${dir}`,
      `mount --bind ${path} ${path}`,
      `mount -o remount,bind,ro ${dir}`,
      `exec ${process.execPath} --input-type=module -e "${code}"`,
    ].join(' && ');
    const ended = spawnSync('unshare', ['-m', 'sh', '-c', script], { encoding: 'utf8' });
    expect(ended.stderr).not.toContain('Error');
    expect(ended.stdout).toMatch(/EROFS|EBUSY/);
    expect(readFileSync(path, 'utf8')).toBe('b: 2\n');
  });
});
