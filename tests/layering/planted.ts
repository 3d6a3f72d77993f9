import { copyFileSync, mkdirSync, mkdtempSync, rmSync, symlinkSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { dirname, join, resolve } from 'node:path';

export type PlantedTree = {
  root: string;
  put(path: string, source: string): void;
  /** A file of the project itself, at the same place. */
  copy(path: string): void;
  remove(): void;
};

/** An empty checkout in which a test plants what must be found, with the libraries of this one. */
export function plantedTree(): PlantedTree {
  const root = mkdtempSync(join(tmpdir(), 'planted-'));
  const placeOf = (path: string) => {
    const place = join(root, path);
    mkdirSync(dirname(place), { recursive: true });
    return place;
  };
  symlinkSync(resolve('node_modules'), join(root, 'node_modules'));
  return {
    root,
    put: (path, source) => writeFileSync(placeOf(path), source),
    copy: (path) => copyFileSync(path, placeOf(path)),
    remove: () => rmSync(root, { recursive: true }),
  };
}
