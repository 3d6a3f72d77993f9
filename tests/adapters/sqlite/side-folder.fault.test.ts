import { cpSync, existsSync, readdirSync, readFileSync, rmSync, statSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { setImmediate as turn } from 'node:timers/promises';
import Database from 'better-sqlite3';
import { describe, expect, it } from 'vitest';
import type { Store } from '#adapters/ports/store.ts';
import { sideFileOf } from '#adapters/sqlite/side-file.ts';
import { restoreStoreFile } from '#adapters/sqlite/store-files.ts';
import { heldClock, openScratch, scratchFolder } from './scratch.ts';
import { passed, temperature } from './series.ts';

/** A store and a folder in memory, as the service manager gives one. */
type Place = { path: string; unflushedFolder: string };

function newPlace(): Place {
  return { path: join(scratchFolder(), 'store.db'), unflushedFolder: scratchFolder() };
}

/** Both as a killed process leaves them. */
function killedCopy({ path, unflushedFolder }: Place): Place {
  const copy = newPlace();
  for (const suffix of ['', '-wal', '-unflushed']) {
    if (existsSync(path + suffix)) cpSync(path + suffix, copy.path + suffix);
  }
  if (existsSync(unflushedFolder)) cpSync(unflushedFolder, copy.unflushedFolder, { recursive: true });
  return copy;
}

const at = (second: number) => passed(temperature, second * 1_000, 25 + second / 10);
const item = (key: string) => ({ destination: 'mqtt', key, payload: key });
const keysOf = (store: Store) => store.outbox('mqtt', 10).map(({ key }) => key);

function secondsOf(store: Store): number[] {
  return store.readings(temperature, 0, Number.MAX_SAFE_INTEGER).map(({ timeMs }) => timeMs / 1_000);
}

function inFolder({ unflushedFolder }: Place): { name: string; bytes: number; mode: number }[] {
  return readdirSync(unflushedFolder).map((name) => {
    const { size, mode } = statSync(join(unflushedFolder, name));
    return { name, bytes: size, mode: mode & 0o777 };
  });
}

async function killedWith(place: Place, ...seconds: number[]): Promise<Place> {
  const store = openScratch(place);
  store.add(seconds.map(at));
  await turn();
  return killedCopy(place);
}

describe('readings that wait for a flush, in a folder in memory', () => {
  it('the card is written for them, or a kill loses them', async () => {
    const place = newPlace();
    const store = openScratch(place);
    store.add([at(1)]);
    store.flush();
    store.add([at(2)]);
    await turn();
    expect(existsSync(sideFileOf(place.path))).toBe(false);
    expect(inFolder(place)).toMatchObject([{ mode: 0o600 }]);

    const left = killedCopy(place);
    const after = openScratch(left);
    expect(secondsOf(after)).toEqual([1, 2]);
    expect(after.uncleanStop).toContain('1 readings of it had not been flushed');
    // Killed again before its first flush.
    const again = openScratch(killedCopy(left));
    expect(secondsOf(again)).toEqual([1, 2]);
    after.flush();
    expect(inFolder(left)).toMatchObject([{ bytes: 0 }]);
    after.close();
    expect(inFolder(left)).toEqual([]);
  });

  it('an emptied folder, as after a power cut, keeps the hub from its start', async () => {
    const left = await killedWith(newPlace(), 1);
    rmSync(left.unflushedFolder, { recursive: true });
    const store = openScratch(left);
    expect(store.faults).toEqual([]);
    expect(secondsOf(store)).toEqual([]);
    // There is no folder any more: beside the store.
    store.add([at(2)]);
    await turn();
    expect(secondsOf(openScratch(killedCopy(left)))).toEqual([2]);
  });

  it('a folder that is taken away while the hub runs takes what comes from then on with it', async () => {
    const place = newPlace();
    const store = openScratch(place);
    store.add([at(1)]);
    await turn();
    rmSync(place.unflushedFolder, { recursive: true });
    store.flush();
    store.add([at(2), at(3)]);
    await turn();
    expect(secondsOf(openScratch(killedCopy(place)))).toEqual([1, 2, 3]);
    store.flush();
    expect(statSync(sideFileOf(place.path)).size).toBe(0);
  });

  it('the readings of another store in the same folder turn up in this one, or are thrown away', async () => {
    const mine = newPlace();
    const other = { ...newPlace(), unflushedFolder: mine.unflushedFolder };
    const [store, its] = [openScratch(mine), openScratch(other)];
    store.add([at(1)]);
    its.add([at(2)]);
    await turn();
    const left = killedCopy(mine);
    const after = openScratch(left);
    expect(secondsOf(after)).toEqual([1]);
    after.flush();
    after.close();
    const itsLeft = { ...killedCopy(other), unflushedFolder: left.unflushedFolder };
    expect(secondsOf(openScratch(itsLeft))).toEqual([2]);
  });

  it('an update from a version that kept them beside the store loses them', async () => {
    const { path } = newPlace();
    const before = openScratch({ path });
    before.add([at(1)]);
    await turn();
    const left = killedCopy({ path, unflushedFolder: scratchFolder() });
    const store = openScratch(left);
    expect(secondsOf(store)).toEqual([1]);
    store.flush();
    expect(existsSync(sideFileOf(left.path))).toBe(false);
  });

  it('a file of the version before, which does not say who wrote it, is not believed', () => {
    const place = newPlace();
    openScratch(place).commit({ outbox: [item('told'), item('waits')] });
    const left = killedCopy(place);
    // As that version wrote them: `- id`, and the CRC-32 of the line by zlib of Python; its mark had no name of the run.
    writeFileSync(sideFileOf(left.path), '\n= \n- 1\n= 6dd900b3\n');
    const db = new Database(left.path);
    db.prepare("UPDATE meta SET body = json_remove(body, '$.run') WHERE name = 'running'").run();
    db.close();
    expect(keysOf(openScratch(left))).toEqual(['waits']);
  });

  it('a notice is held for told because an older one had its number, where a hub without the folder ran in between', async () => {
    const place = newPlace();
    const store = openScratch(place);
    store.commit({ outbox: [item('first')] });
    store.acknowledge(store.outbox('mqtt', 1).map(({ id }) => id));
    store.add([at(1)]);
    await turn();
    const left = killedCopy(place);
    expect(keysOf(openScratch(killedCopy(left)))).toEqual([]);

    const byHand = openScratch({ path: left.path });
    expect(keysOf(byHand)).toEqual(['first']);
    byHand.acknowledge(byHand.outbox('mqtt', 1).map(({ id }) => id));
    byHand.add([at(2)]);
    byHand.close();
    const nextByHand = openScratch({ path: left.path });
    nextByHand.commit({ outbox: [item('second')] });
    expect(nextByHand.outbox('mqtt', 1)[0]!.id).toBe(1);
    await turn();
    for (const stop of ['kill', 'close'] as const) {
      if (stop === 'close') nextByHand.close();
      const after = openScratch(killedCopy(left));
      expect(keysOf(after)).toEqual(['second']);
      // By their time these are known in any case.
      expect(secondsOf(after)).toEqual([1, 2]);
    }
  });

  it('readings of the store that was replaced turn up in the restored one', async () => {
    const place = newPlace();
    const backup = join(scratchFolder(), 'backup.db');
    const store = openScratch(place);
    store.add([at(1)]);
    await store.backup(backup);
    store.add([at(2)]);
    await turn();
    const left = killedCopy(place);
    const aside = await restoreStoreFile(backup, left.path, heldClock());
    expect(secondsOf(openScratch(left))).toEqual([1]);
    expect(secondsOf(openScratch({ ...left, path: aside! }))).toEqual([1, 2]);
  });

  it('cut off within a line, it spoils what the next process writes behind it', async () => {
    const left = await killedWith(newPlace(), 1, 2);
    const file = join(left.unflushedFolder, inFolder(left)[0]!.name);
    writeFileSync(file, readFileSync(file).subarray(0, -3));
    const after = openScratch(left);
    after.add([at(3)]);
    await turn();
    expect(secondsOf(openScratch(killedCopy(left)))).toEqual([3]);
  });
});
