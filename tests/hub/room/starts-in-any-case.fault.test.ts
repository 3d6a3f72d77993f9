import { execFileSync } from 'node:child_process';
import { mkdirSync, readFileSync, rmSync, statfsSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, onTestFinished, test } from 'vitest';
import { failingDisk } from '../../faults/failing-disk.ts';
import { changeByteOf, documentNames, firstPageOf } from '../../faults/spoiled.ts';
import { isMissing } from '../../machine/parts.mjs';
import {
  configOf,
  getJson,
  postJson,
  type RoomBlocks,
  roomText,
  scratchRoom,
  startHubHere,
  startHubProcess,
} from '../../servers/hub-process.ts';
import { waitUntil } from '../../servers/server-process.ts';

type Alarm = { id: string; priority: string; message: string; is_standing?: boolean };
type Answered = { status: string; ready: boolean; alive: boolean; causes: { part: string; cause: string }[] };

const isRoot = process.getuid?.() === 0;
const blocks: RoomBlocks = {
  backups: { enabled: false },
  rules: [{ rule: 'out_of_band', metric: 'alkalinity', on_delay_minutes: 0 }],
};
const wrongTest = { system: 'display', analyte: 'alkalinity', value: 12, confirmed: true };

function room(): string {
  const { dir, remove } = scratchRoom();
  onTestFinished(remove);
  return dir;
}

/** A real small disk on the place of the data folder. Needs root. */
function smallDisk(dir: string): string {
  const folder = join(dir, 'disk');
  mkdirSync(folder);
  execFileSync('mount', ['-t', 'tmpfs', '-o', 'size=2m', 'tmpfs', folder], { stdio: 'pipe' });
  onTestFinished(() => void execFileSync('umount', ['-l', folder]));
  return folder;
}

/** Starts a hub, has it keep a test, and stops it. */
async function withOneTest(dir: string, dataDir = join(dir, 'data')): Promise<void> {
  const hub = await startHubHere(configOf(roomText(dir, { ...blocks, data_dir: dataDir })));
  expect((await postJson(`${hub.url}/api/tests`, { ...wrongTest, value: 8 })).status).toBe(201);
  await hub.stop();
}

const alarmsOf = async (url: string) => JSON.stringify(await getJson<unknown>(`${url}/api/alarms`));

async function healthOf(url: string): Promise<Answered> {
  return (await (await fetch(`${url}/health`)).json()) as Answered;
}

/** It watches, refuses what it cannot keep, and says so. */
async function expectWatchesFromMemory(url: string, why: RegExp): Promise<void> {
  const answer = await postJson(`${url}/api/tests`, wrongTest);
  expect([answer.status, await answer.text()]).toEqual([507, expect.stringMatching(/Nothing is being saved/)]);
  const health = await healthOf(url);
  expect([health.status, health.ready, health.alive]).toEqual(['degraded', false, true]);
  expect(health.causes.find(({ part }) => part === 'store')?.cause).toMatch(why);
  const alarms = JSON.parse(await alarmsOf(url)) as Alarm[];
  const said = alarms.find(({ id }) => id === 'room/edges/edge_fault/store/saving');
  expect(said).toMatchObject({ priority: 'high', message: expect.stringMatching(why) });
}

describe.skipIf(!isRoot)('a disk that takes nothing when the hub starts', () => {
  test('a full disk keeps the hub from watching the room', async () => {
    const dir = room();
    const disk = smallDisk(dir);
    await withOneTest(dir, disk);
    const { bavail, bsize } = statfsSync(disk);
    writeFileSync(join(disk, 'ballast'), Buffer.alloc(bavail * bsize));
    const before = readFileSync(join(disk, 'brinekeep.db'));
    const hub = await startHubHere(configOf(roomText(dir, { ...blocks, data_dir: disk })));
    try {
      await expectWatchesFromMemory(hub.url, /its disk is full. Free space/);
      // What was known is still known.
      expect(hub.store.journal({ kind: 'test' }).map(({ body }) => body['value'])).toEqual([8]);
    } finally {
      await hub.stop();
    }
    expect(readFileSync(join(disk, 'brinekeep.db')).equals(before)).toBe(true);
    rmSync(join(disk, 'ballast'));
    const again = await startHubHere(configOf(roomText(dir, { ...blocks, data_dir: disk })));
    try {
      expect((await postJson(`${again.url}/api/tests`, wrongTest)).status).toBe(201);
      expect((await healthOf(again.url)).causes.filter(({ part }) => part === 'store')).toEqual([]);
    } finally {
      await again.stop();
    }
  });

  test('a hub that has room again goes on refusing until somebody restarts it', async () => {
    const dir = room();
    const disk = smallDisk(dir);
    await withOneTest(dir, disk);
    const { bavail, bsize } = statfsSync(disk);
    writeFileSync(join(disk, 'ballast'), Buffer.alloc(bavail * bsize));
    const hub = await startHubHere(configOf(roomText(dir, { ...blocks, data_dir: disk })));
    try {
      await expectWatchesFromMemory(hub.url, /goes on saving by itself/);
      rmSync(join(disk, 'ballast'));
      await waitUntil(
        'a test is taken',
        async () => (await postJson(`${hub.url}/api/tests`, { ...wrongTest, key: 'one' })).status === 201,
      );
      await waitUntil('its alarm has ended', async () => {
        const alarms = JSON.parse(await alarmsOf(hub.url)) as { id: string; isStanding: boolean }[];
        return !alarms.some(({ id, isStanding }) => id.endsWith('store/saving') && isStanding);
      });
      expect((await healthOf(hub.url)).causes.filter(({ part }) => part === 'store')).toEqual([]);
    } finally {
      await hub.stop();
    }
    const again = await startHubHere(configOf(roomText(dir, { ...blocks, data_dir: disk })));
    try {
      expect(again.store.journal({ kind: 'test' }).map(({ body }) => body['value'])).toEqual([8, 12]);
      const states = again.store
        .journal({ kind: 'alarm', history: true })
        .map(({ body }) => `${body['state']} ${body['alarm']}`);
      // Those of the time in memory are in the record too, once.
      expect(states.filter((each) => each.endsWith('store/saving'))).toEqual([
        'raised room/edges/edge_fault/store/saving',
        'cleared room/edges/edge_fault/store/saving',
      ]);
      expect(states).toContain('raised display/alkalinity/out_of_band/high/test');
    } finally {
      await again.stop();
    }
  });

  test('a card that went read-only keeps the hub from watching, also with a log left by a power cut', async () => {
    const dir = room();
    const disk = smallDisk(dir);
    const first = await startHubProcess(dir, roomText(dir, { ...blocks, data_dir: disk }));
    expect((await postJson(`${first.url}/api/tests`, { ...wrongTest, value: 8 })).status).toBe(201);
    await first.end('SIGKILL');
    execFileSync('mount', ['-o', 'remount,ro', disk]);
    const hub = await startHubHere(configOf(roomText(dir, { ...blocks, data_dir: disk })));
    try {
      await expectWatchesFromMemory(hub.url, /cannot be written to/);
      expect(hub.store.journal({ kind: 'test' }).map(({ body }) => body['value'])).toEqual([8]);
    } finally {
      await hub.stop();
    }
  });
});

test('a folder that cannot be made keeps the hub from watching', async () => {
  const dir = room();
  writeFileSync(join(dir, 'file'), '');
  const hub = await startHubHere(configOf(roomText(dir, { ...blocks, data_dir: join(dir, 'file', 'data') })));
  try {
    await expectWatchesFromMemory(hub.url, /cannot be written to/);
  } finally {
    await hub.stop();
  }
});

describe.skipIf(isMissing('gcc'))('a disk that reports errors (EIO)', () => {
  test('a disk that fails each write keeps the hub from watching', async () => {
    const dir = room();
    await withOneTest(dir);
    const hub = await startHubProcess(dir, roomText(dir, blocks), failingDisk(dir, { writeBelow: join(dir, 'data') }));
    onTestFinished(() => hub.end('SIGKILL'));
    await expectWatchesFromMemory(hub.url, /its disk reports errors/);
  });

  test('one sector that cannot be read keeps the hub from starting, or takes the rest of the record', async () => {
    const dir = room();
    await withOneTest(dir);
    const path = join(dir, 'data', 'brinekeep.db');
    const errors = { readOf: path, ...firstPageOf(path, 'documents') };
    const hub = await startHubProcess(dir, roomText(dir, blocks), failingDisk(dir, errors));
    onTestFinished(() => hub.end('SIGKILL'));
    // Its place is taken by a file that can be read, with what a person typed.
    const alarms = JSON.parse(await alarmsOf(hub.url)) as Alarm[];
    expect(alarms.find(({ id }) => id === 'room/edges/edge_fault/store/damaged')).toMatchObject({ priority: 'high' });
    const entries = await getJson<unknown>(`${hub.url}/api/entries?system=display`);
    expect(JSON.stringify(entries)).toContain('"alkalinity"');
    expect((await postJson(`${hub.url}/api/tests`, wrongTest)).status).toBe(201);
  });
});

test('a byte that changed in any stored document keeps the hub from starting, or is not told', async () => {
  const dir = room();
  await withOneTest(dir);
  const path = join(dir, 'data', 'brinekeep.db');
  const original = readFileSync(path);
  const names = () => documentNames(path);
  const documents = names();
  expect(documents).toEqual(expect.arrayContaining(['rules-state', 'notices-state', 'presence']));
  for (const name of documents) {
    writeFileSync(path, original);
    changeByteOf(path, name);
    const hub = await startHubHere(configOf(roomText(dir, blocks)));
    try {
      // Some are read when they are first needed.
      await waitUntil(`${name} is told of`, async () => {
        await fetch(`${hub.url}/api/weeks/current`).catch(() => {});
        hub.store.document(name);
        return (await alarmsOf(hub.url)).includes('edge_fault/store/document_damaged');
      });
      expect((await postJson(`${hub.url}/api/tests`, wrongTest)).status, name).toBe(201);
    } finally {
      await hub.stop();
    }
    expect(names(), name).toContain(`${name}.damaged`);
  }
});
