import { existsSync, mkdirSync, renameSync, rmSync, statSync, writeFileSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { setImmediate as turn } from 'node:timers/promises';
import { describe, expect, it } from 'vitest';
import type { StoreFault } from '#adapters/sqlite/store-options.ts';
import { openScratch, scratchFolder } from './scratch.ts';
import { passed, temperature } from './series.ts';

const note = (text: string) => ({
  entries: [{ kind: 'note' as const, timeMs: 1, recordedMs: 1, system: 'display', body: { text } }],
});

function running() {
  const path = join(scratchFolder(), 'data', 'store.db');
  mkdirSync(dirname(path));
  const faults: StoreFault[] = [];
  const store = openScratch({ path, onFault: (fault) => faults.push(fault) });
  store.commit(note('before'));
  store.add([passed(temperature, 1_000, 25.1)]);
  store.flush();
  return { path, store, faults };
}

function contentOf(path: string) {
  const store = openScratch({ path });
  const content = {
    notes: store.journal({ kind: 'note' }).map(({ body }) => body['text']),
    values: store.readings(temperature, 0, Number.MAX_SAFE_INTEGER).map(({ value }) => value),
    uncleanStop: store.uncleanStop,
  };
  store.close();
  return content;
}

describe('the files of the store go while the hub has them open', () => {
  it.each([
    ['all', ['', '-wal', '-unflushed']],
    ['the file alone', ['']],
    ['its log alone', ['-wal']],
  ])('is not noticed within a flush, or the record is lost: %s', async (_, suffixes) => {
    const { path, store, faults } = running();
    store.add([passed(temperature, 2_000, 25.2)]);
    await turn();
    for (const suffix of suffixes) rmSync(path + suffix, { force: true });
    store.flush();
    await turn();
    expect(faults).toEqual([{ kind: 'files_gone', detail: expect.stringMatching(/deleted.*Restart the hub now/) }]);
    store.flush();
    await turn();
    expect(faults).toHaveLength(1);
    expect(statSync(path).mode & 0o777).toBe(0o600);
    store.commit(note('after'));
    store.add([passed(temperature, 3_000, 25.3)]);
    store.close();
    expect(contentOf(path)).toEqual({
      notes: ['before', 'after'],
      values: [25.1, 25.2, 25.3],
      uncleanStop: undefined,
    });
    expect(existsSync(`${path}-unflushed`)).toBe(false);
  });

  it('loses the readings after the copy when the hub is killed', async () => {
    const { path, store } = running();
    for (const suffix of ['', '-wal']) rmSync(path + suffix);
    store.flush();
    store.add([passed(temperature, 2_000, 25.2)]);
    await turn();
    store.flush();
    // What lies there now is what a killed process leaves.
    const left = join(scratchFolder(), 'store.db');
    for (const suffix of ['', '-unflushed']) renameSync(path + suffix, left + suffix);
    expect(contentOf(left)).toMatchObject({ notes: ['before'], values: [25.1, 25.2] });
  });

  it('writes over the file that somebody put in their place', async () => {
    const { path, store, faults } = running();
    writeFileSync(`${path}.other`, 'of somebody else');
    renameSync(`${path}.other`, path);
    store.flush();
    await turn();
    expect(faults[0]?.detail).toMatch(/Another file took the name.*kept as .*store\.db\.former/);
    store.close();
    expect(statSync(path).size).toBe(16);
    expect(existsSync(`${path}-wal`)).toBe(false);
    expect(contentOf(`${path}.former`)).toMatchObject({ notes: ['before'], values: [25.1] });
  });

  it('are gone for good where the copy could not be made at once', async () => {
    const { path, store, faults } = running();
    rmSync(dirname(path), { recursive: true });
    writeFileSync(dirname(path), 'in the way');
    store.flush();
    store.flush();
    await turn();
    expect(faults).toEqual([{ kind: 'files_gone', detail: expect.stringMatching(/no copy can be made.*Do not stop/) }]);
    rmSync(dirname(path));
    store.flush();
    await turn();
    expect(faults).toHaveLength(2);
    store.close();
    expect(contentOf(path)).toMatchObject({ notes: ['before'], values: [25.1] });
  });
});
