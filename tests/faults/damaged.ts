import { closeSync, copyFileSync, openSync, readdirSync, statSync, writeSync } from 'node:fs';
import { join } from 'node:path';
import { systemClock } from '#adapters/clock/system-clock.ts';
import { openStore } from '#adapters/sqlite/open-store.ts';
import { postJson } from '../servers/hub-process.ts';
import type { Fault } from './fault.ts';
import { watchHealth } from './health-watch.ts';
import { startPhone, timeUntil } from './people.ts';
import { promptNotices, startTimedRoom, storePathIn, type TimedRoom } from './rooms.ts';
import type { Scene } from './scene.ts';
import { usedPages } from './used-pages.ts';

const hourMs = 3_600_000;
const filesAtOnce = 4;
const series = { system: 'display', metric: 'temperature', probe: 't' } as const;
const entries = 300;
const readings = 6_000;
const bytesOverwritten = 300;
/** So much of it lies in the file when the power goes, the rest in the log. */
const inFile = 0.67;

function valueAt(n: number): number {
  return 25 + (n % 1000) / 1000;
}

/** The same bytes in every run. */
function chance(seed: number): () => number {
  let state = seed;
  return () => {
    state = (Math.imul(state, 1_664_525) + 1_013_904_223) >>> 0;
    return state / 2 ** 32;
  };
}

/** A store as a power cut leaves it: most of it in the file, the last commits in the log. Copied from `path` to `left`. */
function fillAndAbandon(path: string, left: string, startMs: number): void {
  const open = () => openStore({ path, flushMs: 3_600_000, clock: systemClock, packAtReadings: 1_000 });
  let store = open();
  for (let n = 0; n < entries; n += 1) {
    store.commit({
      entries: [
        {
          ...{ kind: n % 2 === 0 ? 'test' : 'dose', timeMs: startMs + n, recordedMs: startMs + n, system: 'display' },
          ...{ body: { n, analyte: 'alkalinity', value: 8, given_value: 8, given_unit: 'dKH' }, key: `k${n}` },
        },
      ],
    });
    const each = readings / entries;
    store.add(
      Array.from({ length: each }, (_, k) => {
        const timeMs = startMs + (n * each + k) * 10_000;
        return { series, timeMs, quality: { flag: 'pass' as const, value: valueAt(n * each + k) } };
      }),
    );
    store.flush();
    // Closing brings the log into the file.
    if (n === Math.floor(entries * inFile)) {
      store.close();
      store = open();
    }
  }
  // Copied under the open store, as it lies on disk at that moment.
  for (const suffix of ['', '-wal']) copyFileSync(path + suffix, left + suffix);
  store.close();
}

export const damaged: Fault = {
  name: 'damaged',
  title: `${bytesOverwritten} random bytes written over the store after an unclean stop, over a page in use and over its log in turn`,
  amount: { of: 'files', short: 4, long: 60 },
  needs: [],
  async run(scene, files) {
    const random = chance(20260105);
    const startMs = Math.floor(Date.now() / hourMs) * hourMs - readings * 10_000;
    const dir = scene.folder();
    const left = join(dir, 'left.db');
    fillAndAbandon(join(dir, 'original.db'), left, startMs);
    const { offsets, pageBytes } = usedPages(left, join(dir, 'pages.db'));
    const inLog = () => Math.floor(random() * (statSync(`${left}-wal`).size - bytesOverwritten));
    const inPage = () =>
      offsets[Math.floor(random() * offsets.length)]! + Math.floor(random() * (pageBytes - bytesOverwritten));
    const plan = Array.from({ length: files }, (_, file) => ({
      ...{ file: file + 1, isLog: file % 2 === 1, left },
      at: file % 2 === 1 ? inLog() : inPage(),
      noise: Buffer.from(Array.from({ length: bytesOverwritten }, () => Math.floor(random() * 256))),
    }));
    const met: Met[] = [];
    for (let at = 0; at < plan.length; at += filesAtOnce) {
      met.push(...(await Promise.all(plan.slice(at, at + filesAtOnce).map((each) => oneFile(scene, startMs, each)))));
    }
    const sum = (of: (each: Met) => number) => met.reduce((total, each) => total + of(each), 0);
    const [entriesLost, readingsLost] = [sum((each) => each.entriesLost), sum((each) => each.readingsLost)];
    const countOf = (isLog: boolean) => met.filter((each) => each.isLog === isLog).length;
    const noticed = (isLog: boolean) => met.filter((each) => each.isLog === isLog && each.isNoticed).length;
    const wrong = sum((each) => each.wrong);
    return [
      {
        ...{
          of: 'tests and doses',
          caused: files,
          stake: files * entries,
          lost: entriesLost,
          lostAtMost: files * entries,
        },
        doubled: sum((each) => each.doubled),
        recoveryMs: met.flatMap(({ startedInMs }) => (startedInMs === undefined ? [] : [startedInMs])),
        broken: met.flatMap(({ broken }) => broken),
        remark:
          `${noticed(false)} of ${countOf(false)} damaged files and ${noticed(true)} of ${countOf(true)} damaged logs noticed, kept and told by an alarm; ` +
          `${sum((each) => Number(each.isWhole))} had nothing lost. What lay in the damaged pages is lost, ${files * entries - entriesLost} were saved; ` +
          'the promise is that the hub starts and no loss goes unsaid',
      },
      {
        ...{ of: 'readings', caused: files, stake: files * readings, lost: readingsLost, lostAtMost: files * readings },
        doubled: 0,
        recoveryMs: [],
        broken: wrong === 0 ? [] : [`${wrong} readings have other values than were written`],
        remark: `${files * readings - readingsLost} were saved`,
      },
      {
        ...{ of: 'answers of /health, damaged', caused: files, stake: sum((each) => each.answers) },
        ...{ lost: sum((each) => each.lies), doubled: 0, recoveryMs: [] },
      },
    ];
  },
};

type Plan = { file: number; isLog: boolean; left: string; at: number; noise: Buffer };

type Met = {
  isLog: boolean;
  startedInMs?: number;
  isNoticed: boolean;
  isWhole: boolean;
  entriesLost: number;
  doubled: number;
  readingsLost: number;
  /** Readings that have another value than was written. */
  wrong: number;
  broken: string[];
  /** Answers of its health, and those that said ok while the phone was not told. */
  answers: number;
  lies: number;
};

/** Writes the noise into a store as a power cut leaves it, starts a hub on it, and compares with what was written. */
async function oneFile(scene: Scene, startMs: number, { file, isLog, left, at, noise }: Plan): Promise<Met> {
  const dir = scene.folder();
  const path = storePathIn(dir);
  for (const suffix of ['', '-wal']) copyFileSync(left + suffix, path + suffix);
  const target = isLog ? `${path}-wal` : path;
  const fd = openSync(target, 'r+');
  writeSync(fd, noise, 0, noise.length, at);
  closeSync(fd);

  const name = `file ${file} (${isLog ? 'log' : 'main'})`;
  const began = performance.now();
  let room: TimedRoom;
  try {
    room = await startTimedRoom(scene, dir, Date.now(), {
      ...{ backups: { enabled: false }, notices: promptNotices },
    });
  } catch (error) {
    const broken = [`${name}: the hub does not start: ${String(error).slice(0, 200)}`];
    const all = { answers: 0, lies: 0, entriesLost: entries, doubled: 0, readingsLost: readings, wrong: 0 };
    return { ...all, isLog, isNoticed: false, isWhole: false, broken };
  }
  const { hub, clock } = room;
  const phone = await startPhone(scene, hub.brokerPort ?? 0);
  const watch = watchHealth(scene, () => hub.url, phone);
  const startedInMs = performance.now() - began;
  const keys = [...hub.store.journal({ kind: 'test' }), ...hub.store.journal({ kind: 'dose' })].map(({ key }) => key);
  const found = hub.store.readings(series, 0, Number.MAX_SAFE_INTEGER);
  // As a curve of the page does: a block is looked at when it is read, those of summaries too.
  for (const resolution of ['minute', 'hour', 'day'] as const)
    hub.store.summaries(series, resolution, 0, Number.MAX_SAFE_INTEGER);
  const asWritten = found.filter(({ timeMs, value }) => Math.abs(value - valueAt((timeMs - startMs) / 10_000)) < 1e-6);
  const entriesLost = entries - new Set(keys).size;
  const readingsLost = readings - asWritten.length;
  const isWhole = entriesLost + readingsLost === 0;
  const isBeside = readdirSync(join(dir, 'data')).some((each) => each.includes('.damaged-'));
  let isNoticed = false;
  // A block whose bits have changed stays in the file, out of the record, and is told of when it is read.
  if (isBeside || !isWhole || !isLog) {
    // The alarm of an edge waits a while by the clock of the room, which runs twenty times as fast here.
    await timeUntil(
      'the phone is told',
      async () => {
        clock.advance(20_000);
        await new Promise((resolve) => setTimeout(resolve, 1_000));
        isNoticed = phone.events().some(({ alarm }) => alarm.includes('edge_fault/store'));
        return isNoticed;
      },
      90_000,
    ).catch(() => {});
  }
  const broken: string[] = [];
  if (!isWhole && !isNoticed) {
    const beside = isBeside ? 'kept beside, but' : 'not kept beside, and';
    broken.push(
      `${name}: ${entriesLost} entries and ${readingsLost} readings are gone; ${beside} the phone was not told`,
    );
  }
  // The log of a power cut ends in the midst of a write as a rule; a page in use that is not what was written is damage.
  if (!isLog && !isNoticed) broken.push(`${name}: the damage of a page in use, at ${at}, is not noticed`);
  const answer = await postJson(`${hub.url}/api/tests`, {
    system: 'display',
    analyte: 'alkalinity',
    value: 8,
    confirmed: true,
  });
  if (answer.status !== 201) broken.push(`${name}: the hub does not go on: ${answer.status} ${await answer.text()}`);
  const health = await watch.row(name);
  broken.push(...(health.broken ?? []).map((each) => `${name}: ${each}`));
  await hub.stop();
  return {
    ...{ answers: health.stake, lies: health.lost },
    ...{ isLog, startedInMs, isNoticed, isWhole, entriesLost, readingsLost, broken },
    doubled: keys.length - new Set(keys).size,
    wrong: found.length - asWritten.length,
  };
}
