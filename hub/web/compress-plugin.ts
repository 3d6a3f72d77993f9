import { readdirSync, readFileSync, writeFileSync } from 'node:fs';
import { join, resolve } from 'node:path';
import { gzipSync } from 'node:zlib';
import type { Plugin } from 'vite';

/** Lays FILE.gz beside each file of text of the page, so that the hub compresses none of them when it is asked. */
export function compressPlugin(): Plugin {
  let folder = '';
  return {
    name: 'brinekeep-compress',
    apply: 'build',
    configResolved({ root, build }) {
      folder = resolve(root, build.outDir);
    },
    // After every plugin has written what it writes.
    closeBundle() {
      for (const entry of readdirSync(folder, { recursive: true, withFileTypes: true })) {
        if (!entry.isFile() || !/\.(html|js|css|svg|webmanifest|json)$/.test(entry.name)) continue;
        const path = join(entry.parentPath, entry.name);
        writeFileSync(`${path}.gz`, gzipSync(readFileSync(path), { level: 9 }));
      }
    },
  };
}
