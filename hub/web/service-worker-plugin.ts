import { createHash } from 'node:crypto';
import { readdirSync, readFileSync, writeFileSync } from 'node:fs';
import { join, relative, sep } from 'node:path';
import type { Plugin } from 'vite';

/** The worker's file stands at the root, so that it may speak for the whole page, and its name never changes. */
export const workerFile = 'service-worker.js';

function filesBelow(dir: string): string[] {
  return readdirSync(dir, { recursive: true, withFileTypes: true })
    .filter((entry) => entry.isFile())
    .map((entry) => relative(dir, join(entry.parentPath, entry.name)).split(sep).join('/'))
    .toSorted();
}

/** Tells the service worker which files the page has, under a version that changes with any of them. */
export function serviceWorkerPlugin(): Plugin {
  return {
    name: 'brinekeep-service-worker',
    apply: 'build',
    writeBundle({ dir }) {
      if (dir === undefined) throw new Error('the page is built into no folder');
      const files = filesBelow(dir).filter((file) => file !== workerFile);
      const hash = createHash('sha256');
      for (const file of files)
        hash
          .update(file)
          .update('\0')
          .update(readFileSync(join(dir, file)));
      const shell = files.filter((file) => file !== 'index.html').map((file) => `./${file}`);
      const worker = join(dir, workerFile);
      const code = readFileSync(worker, 'utf8');
      const told = code
        .replaceAll('__SHELL__', JSON.stringify(shell))
        .replaceAll('__VERSION__', JSON.stringify(hash.digest('hex').slice(0, 12)));
      if (told === code) throw new Error('the service worker has no place for the files of the page');
      writeFileSync(worker, told);
    },
  };
}
