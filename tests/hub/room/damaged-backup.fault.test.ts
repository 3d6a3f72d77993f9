import { copyFileSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { setImmediate as turn } from 'node:timers/promises';
import { expect, test } from 'vitest';
import type { StoreFault } from '#adapters/sqlite/store-options.ts';
import { newsOfStore } from '#hub/room/store-news.ts';
import { openScratch, scratchFolder } from '../../adapters/sqlite/scratch.ts';
import { firstPageOf } from '../../faults/spoiled.ts';

function damage(path: string): void {
  const { fromByte, toByte } = firstPageOf(path, 'documents');
  writeFileSync(path, readFileSync(path).fill(0, fromByte, toByte));
}

/** What the keeper reads when the hub starts on this file. */
async function saidAtStart(path: string): Promise<string[]> {
  const faults: StoreFault[] = [];
  const store = openScratch({ path, onFault: (fault) => faults.push(fault) });
  await turn();
  expect(store.journal({ kind: 'note' })).toHaveLength(1);
  store.close();
  return faults.map((fault) => newsOfStore(fault, 0, 'UTC').detail);
}

test('a damaged backup that was copied over the record sends the keeper to a card that is sound', async () => {
  const path = join(scratchFolder(), 'store.db');
  const backup = join(scratchFolder(), 'backup.db');
  const store = openScratch({ path });
  store.commit({
    entries: [{ kind: 'note', timeMs: 1, recordedMs: 1, system: 'display', body: { text: 'lamp cleaned' } }],
    documents: [{ name: 'rules', body: '{}' }],
  });
  await store.backup(backup);
  store.close();

  damage(backup);
  copyFileSync(backup, path);
  rmSync(`${path}-wal`, { force: true });
  const [said] = await saidAtStart(path);
  expect(said).toMatch(/^The backup that was put in the place of the record is damaged;.*brinekeep restore reads it/);
  expect(said).not.toMatch(/card/);

  // It is the hub's own record from then on.
  damage(path);
  expect((await saidAtStart(path))[0]).toMatch(/^The record on disk was damaged;.*check the card/);
});
