import { mkdirSync, mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';

/** Where a fault is caused: scratch folders and servers that are gone when it is over. */
export type Scene = {
  /** A new empty folder with a `data` folder for a hub in it. */
  folder(): string;
  /** Run when the scene ends, the last given first, also when the fault's own run throws. */
  atEnd(work: () => unknown): void;
};

export async function inScene<Result>(work: (scene: Scene) => Promise<Result>): Promise<Result> {
  const ends: (() => unknown)[] = [];
  const scene: Scene = {
    folder() {
      const folder = mkdtempSync(join(tmpdir(), 'brinekeep-fault-'));
      mkdirSync(join(folder, 'data'));
      ends.push(() => rmSync(folder, { recursive: true, force: true }));
      return folder;
    },
    atEnd: (end) => void ends.push(end),
  };
  try {
    return await work(scene);
  } finally {
    for (const end of ends.toReversed()) {
      try {
        await end();
      } catch (error) {
        // One end that fails must not leave the servers of the others running.
        console.error('a scene did not end properly:', error);
      }
    }
  }
}
