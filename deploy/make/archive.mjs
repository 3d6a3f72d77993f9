// Archives that have the same bytes whenever and wherever they are made of the same files.
import { createHash } from 'node:crypto';
import { readFileSync, writeFileSync } from 'node:fs';
import { gzipSync } from 'node:zlib';
import { run } from './run.mjs';

/** `name`, a folder in `parent`, as a gzipped tar: entries by name, of root, all of one time. */
export function tarGz(parent, name, target, atS) {
  const same = ['--sort=name', '--owner=0', '--group=0', '--numeric-owner', '--format=ustar', '--mode=u=rwX,go=rX'];
  const tar = run('tar', [...same, `--mtime=@${atS}`, '-C', parent, '-cf', '-', name], {
    encoding: 'buffer',
    maxBuffer: 1024 ** 3,
    env: { ...process.env, LC_ALL: 'C' },
  });
  // zlib writes no time and no name.
  writeFileSync(target, gzipSync(tar, { level: 6 }));
}

export const sha256Of = (path) => createHash('sha256').update(readFileSync(path)).digest('hex');
