import { createHash } from 'node:crypto';
import { existsSync, mkdirSync, readdirSync, readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, test, vi } from 'vitest';
import { systemClock } from '#adapters/clock/system-clock.ts';
import { journalKinds, type Store } from '#adapters/ports/store.ts';
import { hubAdaptersOn } from '#hub/compose.ts';
import { demoConfig } from '#hub/demo/demo-config.ts';
import { furnish } from '#hub/demo/furnish.ts';
import { seededRandom } from '#hub/demo/seeded-random.ts';
import { freePort } from '../../servers/free-port.ts';
import { configOf, getJson, postJson, scratchRoom, startHubHere } from '../../servers/hub-process.ts';
import { patience } from '../../servers/server-process.ts';
import { verbHere } from './verb-here.ts';

// Slow on a loaded machine, and no time is asserted.
vi.setConfig({ testTimeout: 120_000 * patience(), hookTimeout: 240_000 * patience() });

const hourMs = 3_600_000;
const dayMs = 24 * hourMs;
const nowMs = Date.now();
const series = { system: 'display', metric: 'temperature', probe: 'display-temperature' } as const;

/** An invented hub: its configuration, its folder and its store. */
async function place(dir: string, name: string) {
  const dataDir = join(dir, name);
  mkdirSync(dataDir);
  const text = demoConfig({
    ...{ ptyPath: undefined, brokerPort: await freePort(), httpPort: await freePort(), dataDir },
  });
  const config = join(dir, `${name}.yaml`);
  writeFileSync(config, text);
  return { config, text, dataDir, store: join(dataDir, 'brinekeep.db') };
}

function openAt(path: string): Store {
  return hubAdaptersOn(systemClock).openStore({ path, flushMs: 1000, onFault: () => {} });
}

/** What a keeper's years leave: readings of which the older are summaries alone, and entries of every kind. */
async function fill(at: { text: string; store: string }): Promise<void> {
  const before = openAt(at.store);
  const reading = (timeMs: number, value: number, flag: 'pass' | 'suspect' | 'fail') => ({
    ...{ series, timeMs },
    quality: flag === 'fail' ? { flag, raw: value, why: 'invented' } : { flag, value },
  });
  // Tenths add up to sums that are no tenths.
  for (let timeMs = nowMs - 3 * dayMs; timeMs < nowMs - hourMs; timeMs += 30_000) {
    const flag = timeMs % 7 === 0 ? 'suspect' : timeMs % 11 === 0 ? 'fail' : 'pass';
    before.add([reading(Math.floor(timeMs), 25 + ((timeMs / 30_000) % 13) / 10, flag)]);
  }
  expect(before.dropReadingsBefore(nowMs - 2 * dayMs)).toBeGreaterThan(2000);
  const [dose = 0] = before.commit({
    entries: [
      {
        ...{ kind: 'dose', timeMs: nowMs - 5 * hourMs, recordedMs: nowMs - 5 * hourMs, system: 'display' },
        ...{ body: { stock: 'soda', ml: 20, by: 'Ana, "the" keeper\n' }, key: 'phone-1' },
      },
    ],
    documents: [{ name: 'a name of its own, ünusual', body: 'deflate;base64,\u0000 "…' }],
  });
  const again = { kind: 'dose', timeMs: nowMs - 5 * hourMs, recordedMs: nowMs, system: 'display' } as const;
  before.commit({ entries: [{ ...again, body: { stock: 'soda', ml: 25 }, corrects: dose }] });
  before.commit({ entries: [{ ...again, body: { stock: 'soda', ml: 25 }, corrects: dose + 1, isWithdrawn: true }] });
  const noted = { timeMs: nowMs - 6 * hourMs, recordedMs: nowMs - 6 * hourMs, system: 'display' };
  before.commit({
    entries: [
      { ...noted, kind: 'note', body: { note: 'invented', about: 'clock', shiftMs: -0.5 } },
      {
        ...{ ...noted, kind: 'kit' },
        body: { kit: 'k1', event: 'opened', name: 'Drops (invented)', analyte: 'alkalinity', resolution: 0.1 },
      },
      {
        ...{ ...noted, kind: 'light' },
        body: { event: 'par', places: [{ height_cm: 20, par: 180.5 }] },
      },
      {
        ...{ ...noted, kind: 'calibration' },
        body: {
          ...{ probe: 'display-temperature', metric: 'temperature', kind: 'linear', by: 'Ana', why: 'invented' },
          ...{
            correction: { slope: 1, offset: 0.1 },
            verdict: { state: 'not_judged', reasons: [] },
            given: { offset: 0.1 },
          },
        },
      },
    ],
  });
  const alarm = { alarm: 'display/temperature/out_of_band', occurrence: 1, system: 'display', metric: 'temperature' };
  for (const [state, agoMs] of [
    ['raised', 3 * hourMs],
    ['acknowledged', 2 * hourMs],
  ] as const)
    before.commit({
      entries: [
        {
          ...{ kind: 'alarm', timeMs: nowMs - agoMs, recordedMs: nowMs - agoMs, system: 'display' },
          body: {
            ...{ ...alarm, state, timeMs: nowMs - agoMs, rule: 'out_of_band', priority: 'high' },
            ...{ value: 27.1, message: 'invented', ...(state === 'acknowledged' && { by: 'Ana', why: 'seen' }) },
          },
        },
      ],
    });
  before.close();

  const hub = await startHubHere(configOf(at.text));
  try {
    await furnish(hub.url, nowMs, seededRandom(7), (timeMs) => new Date(timeMs).toISOString().slice(0, 10));
    const post = async (path: string, body: object) => {
      const answer = await postJson(`${hub.url}/api/${path}`, { system: 'display', ...body });
      expect({ path, status: answer.status, text: await answer.text() }).toMatchObject({ path, status: 201 });
    };
    await post('tests', { analyte: 'alkalinity', value: 2.9, unit: 'meq/L', sd: 0.05, note: 'invented' });
    await post('tests', { analyte: 'salinity', value: 1.0264, unit: 'sg', sg_scale: '25/25' });
    await post('doses', { stock: 'calcium', ml: 30 });
    await post('water-changes', { volume_l: 40, salinity: 35, alkalinity_dkh: 8 });
    await post('plan', { stock: 'soda', ml_per_day: 90, times_per_day: 12 });
  } finally {
    await hub.stop();
  }
}

describe('a whole record, taken to another hub', () => {
  const { dir, remove } = scratchRoom();
  const file = (name: string, text: string) => {
    const path = join(dir, name);
    writeFileSync(path, text);
    return path;
  };
  let one: Awaited<ReturnType<typeof place>>;
  let other: Awaited<ReturnType<typeof place>>;
  let record = '';
  let lines: string[] = [];
  let path = '';
  const importTo = (config: string, from: string, ...flags: string[]) =>
    verbHere(['import', '--as', 'everything', '--config', config, ...flags, from]);
  const emptyPlace = () => place(dir, `empty-${readdirSync(dir).length}`);

  beforeAll(async () => {
    one = await place(dir, 'one');
    other = await place(dir, 'other');
    await fill(one);
    const exported = await verbHere(['export', one.config, '--everything']);
    expect({ code: exported.code, err: exported.err }).toEqual({ code: 0, err: expect.stringContaining(' 9 photos') });
    record = exported.out;
    lines = record.trimEnd().split('\n');
    path = file('record.jsonl', record);
  });
  afterAll(remove);

  test('lacks a kind of what the keeper has entered, so the tests of it show nothing', () => {
    const kinds = new Set(lines.map((line) => (JSON.parse(line) as { kind?: string }).kind));
    expect([...kinds].filter(Boolean).sort()).toEqual([...journalKinds].sort());
    const at = (name: string) => lines.filter((line) => line.startsWith(`{"${name}"`)).length;
    expect(
      ['kept_from', 'document', 'readings', 'minutes', 'hours', 'photo', 'end'].filter((name) => at(name) === 0),
    ).toEqual([]);
  });

  test('something is lost, added or changed on the way: what the second hub exports is another record', async () => {
    const dry = await importTo(other.config, path, '--dry-run');
    expect({ code: dry.code, err: dry.err }).toEqual({ code: 0, err: '' });
    expect(existsSync(other.store)).toBe(false);
    const taken = await importTo(other.config, path);
    expect({ code: taken.code, err: taken.err }).toEqual({ code: 0, err: '' });
    expect(dry.out.replace('would import', 'imported')).toBe(taken.out);
    const back = await verbHere(['export', other.config, '--everything']);
    expect(back.code).toBe(0);
    const sums = [record, back.out].map((text) => createHash('sha256').update(text).digest('hex'));
    expect(
      back.out
        .split('\n')
        .filter((line, at) => line !== lines[at])
        .slice(0, 1),
    ).toEqual(['']);
    expect(sums[1]).toBe(sums[0]);
  });

  test('the second time something is doubled, or the former record is moved about', async () => {
    const again = await importTo(other.config, path);
    expect(again).toEqual({ code: 0, out: `${path}: all of it is already in the store\n`, err: '' });
    expect((await verbHere(['export', other.config, '--everything'])).out).toBe(record);
    expect(readdirSync(other.dataDir).filter((name) => /replaced|importing/.test(name))).toEqual([]);
  });

  test('curves and summaries of readings that were deleted by age are others', () => {
    const [here, there] = [openAt(one.store), openAt(other.store)];
    try {
      for (const resolution of ['minute', 'hour', 'day'] as const) {
        // A mean hangs, in its last digit, on the order in which readings were added up that wait in the log of the first.
        const of = (store: Store) =>
          store
            .summaries(series, resolution, nowMs - 4 * dayMs, nowMs)
            .map(({ mean, ...rest }) => ({ ...rest, mean: Number(mean.toPrecision(12)) }));
        expect(of(here).length).toBeGreaterThan(2);
        expect(of(there)).toEqual(of(here));
      }
      // A late reading from before the deletion would count a second time in its hour.
      const late = { series, timeMs: nowMs - 2.5 * dayMs, quality: { flag: 'pass', value: 25 } } as const;
      there.add([late]);
      expect(there.readings(series, late.timeMs, late.timeMs + 1)).toEqual([]);
    } finally {
      here.close();
      there.close();
    }
  });

  test('the page of the second hub shows other corals, photos, tests or alarms', async () => {
    const answers: unknown[] = [];
    for (const { text, dataDir } of [one, other]) {
      const hub = await startHubHere(configOf(text));
      const get = (route: string) => getJson<unknown[]>(`${hub.url}/api/${route}`);
      const photos = readdirSync(join(dataDir, 'photos')).sort();
      const photo = await fetch(`${hub.url}/api/photos/${photos[0]}`);
      answers.push({
        ...{ pieces: await get('pieces'), batches: await get('batches') },
        // What the corals use is an estimate as of now.
        arrivals: (await get('arrivals')).map((arrival) => ({ ...(arrival as object), demand: undefined })),
        photos: photos.map((name) => [
          name,
          createHash('sha256')
            .update(readFileSync(join(dataDir, 'photos', name)))
            .digest('hex'),
        ]),
        photo: createHash('sha256')
          .update(Buffer.from(await photo.arrayBuffer()))
          .digest('hex'),
      });
      await hub.stop();
    }
    expect((answers[0] as { pieces: unknown[] }).pieces.length).toBeGreaterThan(8);
    expect(answers[1]).toEqual(answers[0]);
  });

  test('a hub with a record of its own loses it, or two records are mixed', async () => {
    const busy = await emptyPlace();
    const own = openAt(busy.store);
    const entry = { kind: 'test', timeMs: nowMs, recordedMs: nowMs, system: 'display' } as const;
    own.commit({
      entries: [{ ...entry, body: { analyte: 'calcium', value: 420, given_value: 420, given_unit: 'mg/L' } }],
    });
    own.close();
    mkdirSync(join(busy.dataDir, 'photos'));
    writeFileSync(join(busy.dataDir, 'photos', 'p1-1.png'), 'mine');
    const refused = await importTo(busy.config, path);
    expect(refused).toMatchObject({ code: 1, out: '' });
    expect(refused.err).toContain('has a record of its own: its entry 1 differs');
    expect(refused.err).toContain('--replace');

    const replaced = await importTo(busy.config, path, '--replace');
    expect({ code: replaced.code, err: replaced.err }).toEqual({ code: 0, err: '' });
    const asides = [...replaced.out.matchAll(/is kept as (\S+)/g)].map(([, aside = '']) => aside);
    const former = openAt(asides[0] ?? '');
    expect(former.journal({ kind: 'test' }).map(({ body }) => body['value'])).toEqual([420]);
    former.close();
    expect(readFileSync(join(asides[1] ?? '', 'p1-1.png'), 'utf8')).toBe('mine');
    expect((await verbHere(['export', busy.config, '--everything'])).out).toBe(record);
  });

  const without = (prefix: string) => lines.filter((line) => !line.startsWith(prefix)).join('\n');
  const changed = (prefix: string, change: (line: string) => string) => {
    const at = lines.findIndex((line) => line.startsWith(prefix));
    return `${[...lines.slice(0, at), change(lines[at]!), ...lines.slice(at + 1)].join('\n')}\n`;
  };

  test.each([
    {
      what: 'that was cut off between two lines',
      text: () => without('{"end"'),
      says: 'it was cut off. Export it again',
    },
    { what: 'that was cut off within a line', text: () => record.slice(0, record.length >> 1), says: 'it was cut off' },
    { what: 'that lacks a line', text: () => `${without('{"hours"')}\n`, says: 'lines are missing or repeated' },
    {
      what: 'with a line twice',
      text: () => changed('{"minutes"', (line) => `${line}\n${line}`),
      says: 'found a time that is not after the one before it',
    },
    {
      what: 'with an entry that goes back',
      text: () => changed('{"entry":2,', (line) => line.replace('"entry":2', '"entry":1')),
      says: 'found entry 1 after entry 1',
    },
    {
      what: 'with a word for a number',
      text: () => changed('{"readings"', (line) => line.replace('"values":[', '"values":["x",')),
      says: 'values.0',
    },
    {
      what: 'with a photo that leads elsewhere',
      text: () => changed('{"photo"', (line) => line.replace(/"photo":"[^"]+"/, '"photo":"../brinekeep.db"')),
      says: 'is not the name of a photo',
    },
    {
      what: 'of a later version',
      text: () => changed('{"format"', (line) => line.replace('"version":1', '"version":2')),
      says: 'record of version 2',
    },
    { what: 'that is a table', text: () => 'time,system,metric,value\n', says: 'is not a whole record' },
    { what: 'that is empty', text: () => '', says: 'is empty' },
  ])('a file $what is taken in part, or its fault is not named', async ({ text, says }) => {
    const target = await emptyPlace();
    const ended = await importTo(target.config, file('broken.jsonl', text()));
    expect({ code: ended.code, out: ended.out, err: ended.err }).toEqual({
      code: 1,
      out: '',
      err: expect.stringContaining(says),
    });
    expect(readdirSync(target.dataDir)).toEqual([]);
  });

  test('flags that mean nothing to a whole record are passed over', async () => {
    const narrowed = await verbHere(['export', one.config, '--everything', '--from', '2026-11-01']);
    expect(narrowed).toMatchObject({ code: 2, err: '--everything is the whole record: leave out --from\n' });
    const table = await verbHere(['import', '--as', 'tests', '--replace', '--config', one.config, path]);
    expect(table).toMatchObject({ code: 2, err: '--replace goes with --as everything\n' });
  });
});
