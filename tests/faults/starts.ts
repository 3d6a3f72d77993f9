import { execFileSync } from 'node:child_process';
import { cpSync, readdirSync, statSync } from 'node:fs';
import { join } from 'node:path';
import { getJson, type HubProcess, postJson, roomText, startHubProcess } from '../servers/hub-process.ts';
import { startMosquitto } from '../servers/mosquitto.ts';
import { waitUntil } from '../servers/server-process.ts';
import { doorFilesZeroed } from './door-files.ts';
import { failingDisk } from './failing-disk.ts';
import type { Fault, Row } from './fault.ts';
import { watchHealth } from './health-watch.ts';
import { atPace, startPhone, startProbeLine, timeUntil } from './people.ts';
import { promptRules } from './rooms.ts';
import type { Scene } from './scene.ts';
import { changeByteOf, documentNames, fillUp, firstPageOf, mountSmallDisk, zeroHead } from './spoiled.ts';

const waysAtOnce = 2;

type Way = {
  of: string;
  isSmallDisk?: true;
  /** It can write: tests are taken, not refused. */
  saves: boolean;
  mayLose: (stake: number) => number;
  /** Does it to the data folder; what the hub's environment must hold for it. */
  spoil(data: string, scratch: string): Record<string, string> | undefined;
};

const nothing = () => 0;
const store = 'brinekeep.db';

/** Ways to find a data folder at the start, with the files that a killed hub left there. */
function waysFor(files: readonly string[]): Way[] {
  const done = (work: () => unknown) => {
    work();
    return undefined;
  };
  return [
    {
      ...{ of: 'a full disk', isSmallDisk: true, saves: false, mayLose: nothing },
      spoil: (data) => done(() => fillUp(join(data, 'ballast'))),
    },
    {
      ...{ of: 'a read-only disk', isSmallDisk: true, saves: false, mayLose: nothing },
      spoil: (data) => done(() => execFileSync('mount', ['-o', 'remount,ro', data])),
    },
    {
      ...{ of: 'each write fails (EIO)', saves: false, mayLose: nothing },
      spoil: (data, scratch) => failingDisk(scratch, { writeBelow: data }),
    },
    {
      // The documents lie there, no test.
      ...{ of: 'a sector cannot be read (EIO)', saves: true, mayLose: nothing },
      spoil(data, scratch) {
        const path = join(data, store);
        return failingDisk(scratch, { readOf: path, ...firstPageOf(path, 'documents') });
      },
    },
    {
      ...{ of: 'a byte changed in each document', saves: true, mayLose: nothing },
      spoil: (data) =>
        done(() => {
          for (const name of documentNames(join(data, store))) changeByteOf(join(data, store), name);
        }),
    },
    ...files.map(
      (file): Way => ({
        ...{ of: `the head of ${file} zeros`, saves: true },
        // The first sector of the store tells how to read all others.
        mayLose: (stake) => (file.startsWith(store) ? stake : 0),
        spoil: (data) => done(() => zeroHead(join(data, file))),
      }),
    ),
  ];
}

const textFor = (dir: string, data: string, brokerPort: number) =>
  roomText(dir, {
    ...promptRules,
    ...{ data_dir: data, backups: { enabled: false }, mqtt: { url: `mqtt://127.0.0.1:${brokerPort}` } },
    probes: [{ id: 't', system: 'display', metric: 'temperature', mqtt: { topic: 'tank/t' } }],
  });

const testOf = (n: number) => ({
  ...{ system: 'display', analyte: 'alkalinity', value: 8 + (n % 5) / 10, confirmed: true, key: `${n}` },
});

/** A data folder as a hub that was killed left it, with so many tests. */
async function leftByAKill(scene: Scene, tests: number): Promise<string> {
  const dir = scene.folder();
  const broker = await startMosquitto();
  scene.atEnd(broker.stop);
  const data = join(dir, 'data');
  const hub = await startHubProcess(dir, textFor(dir, data, broker.port));
  scene.atEnd(() => hub.end('SIGKILL'));
  for (let n = 0; n < tests; n += 1) {
    const { status } = await postJson(`${hub.url}/api/tests`, testOf(n));
    if (status !== 201) throw new Error(`a test was answered ${status}`);
  }
  await hub.end('SIGKILL');
  return data;
}

/** Starts a hub on a folder that was spoiled, overheats the tank, and asks what is left. */
async function startOn(scene: Scene, left: string, way: Way, tests: number): Promise<Row[]> {
  const dir = scene.folder();
  const data = join(dir, way.isSmallDisk === true ? 'disk' : 'data');
  if (way.isSmallDisk === true) scene.atEnd(mountSmallDisk(data));
  cpSync(left, data, { recursive: true });
  const env = way.spoil(data, dir) ?? {};
  const broker = await startMosquitto();
  scene.atEnd(broker.stop);
  const phone = await startPhone(scene, broker.port);
  const line = await startProbeLine(scene, broker.port);
  const startMs = performance.now();
  let hub: HubProcess;
  const named = { of: `tests, ${way.of}`, caused: 1, stake: tests, lostAtMost: way.mayLose(tests), doubled: 0 };
  try {
    hub = await startHubProcess(dir, textFor(dir, data, broker.port), env);
  } catch (error) {
    return [
      { ...named, lost: tests, recoveryMs: [], broken: [`the hub does not start: ${String(error).slice(0, 300)}`] },
    ];
  }
  scene.atEnd(() => hub.end('SIGKILL'));
  const startedInMs = performance.now() - startMs;
  const watch = watchHealth(scene, () => hub.url, phone);
  watch.mustTell('the overheated tank', /above the band/);
  const probe = atPace(scene, 2, () => line.publish('tank/t', '27.4'));
  const broken: string[] = [];
  const told = await timeUntil('the phone is told', () => watch.untold().length === 0, 60_000).catch(() => undefined);
  if (told === undefined) broken.push(`never told: ${watch.untold().join(', ')}`);
  probe.stop();
  const kept = await getJson<unknown[]>(`${hub.url}/api/entries?kind=test&limit=1000`);
  const lost = tests - kept.length;
  const { status } = await postJson(`${hub.url}/api/tests`, testOf(tests));
  if (status !== (way.saves ? 201 : 507)) broken.push(`a test is answered ${status}`);
  const health = (await (await fetch(`${hub.url}/health`)).json()) as { status: string; causes: unknown };
  if ((lost > 0 || !way.saves) && health.status === 'ok') broken.push('health says ok');
  if (lost > 0)
    await waitUntil('the phone knows of the loss', () =>
      phone.events().some(({ alarm }) => alarm.includes('edge_fault/store')),
    ).catch(() => broken.push(`${lost} tests are gone, and the phone was not told`));
  const answers = await watch.row(way.of);
  await hub.end('SIGTERM');
  return [
    {
      ...named,
      lost,
      recoveryMs: [startedInMs],
      broken,
      remark: `health: ${JSON.stringify(health.causes).slice(0, 200)}`,
    },
    answers,
  ];
}

export const startsOnAnything: Fault = {
  name: 'starts',
  title:
    'a start on a full or read-only disk, on one that reports errors, with a byte changed in each document, with the head of each file zeros',
  amount: { of: 'tests kept before', short: 10, long: 300 },
  needs: ['mosquitto', 'gcc'],
  isForRoot: true,
  async run(scene, tests) {
    const left = await leftByAKill(scene, tests);
    const files = readdirSync(left, { recursive: true, encoding: 'utf8' })
      .filter((name) => statSync(join(left, name)).isFile() && statSync(join(left, name)).size > 0)
      .toSorted();
    const rows: Row[] = [];
    const ways = waysFor(files);
    for (let at = 0; at < ways.length; at += waysAtOnce) {
      const some = ways.slice(at, at + waysAtOnce);
      rows.push(...(await Promise.all(some.map((way) => startOn(scene, left, way, tests)))).flat());
    }
    return [...rows, ...(await doorFilesZeroed(scene))];
  },
};
