import type { RoomBlocks } from '../servers/hub-process.ts';
import { tanksToTest, testTooHigh, toldRows } from './due-alarm.ts';
import type { Fault, Row } from './fault.ts';
import { watchHealth } from './health-watch.ts';
import { startPhone } from './people.ts';
import { promptNotices, startTimedRoom, storePathIn, type TimedRoom } from './rooms.ts';
import type { Scene } from './scene.ts';
import { readStore } from './stored.ts';

const series = { system: 'display', metric: 'temperature', probe: 't' } as const;
const startMs = Date.parse('2026-06-01T12:00:00Z');
const secondMs = 1_000;
const hourMs = 3_600_000;

const display = { id: 'display', name: 'Display tank', volume_l: 420, bands: { temperature: { low: 25, high: 26.5 } } };
const blocks: RoomBlocks = {
  notices: promptNotices,
  probes: [{ id: 't', system: 'display', metric: 'temperature', mqtt: { topic: 'tank/t' }, every_seconds: 1 }],
  rules: ['rate', 'flat_line', 'swing'].map((rule) => ({ rule, enabled: false })),
};

/** Each reading has a value of its own, so that it is known whatever it was dated. */
function numbered(n: number): number {
  return Number((25.2 + (n % 10_000) / 10_000).toFixed(4));
}

async function speak({ clock, say }: TimedRoom, from: number, count: number): Promise<void> {
  for (let n = from; n < from + count; n += 1) {
    clock.advance(secondMs);
    say('t', numbered(n));
  }
  await new Promise((resolve) => setImmediate(resolve));
}

function tally(values: readonly number[], count: number): { lost: number; doubled: number } {
  const wanted = Array.from({ length: count }, (_, n) => numbered(n).toFixed(4));
  const found = values.map((value) => value.toFixed(4));
  return { lost: wanted.filter((value) => !found.includes(value)).length, doubled: found.length - new Set(found).size };
}

async function silentAlarms(room: TimedRoom): Promise<string[]> {
  const alarms = room.hub.store.journal({ kind: 'alarm', history: true }).map(({ body }) => String(body['alarm']));
  return alarms.some((alarm) => alarm.includes('silent')) ? ['a step raised a silent probe'] : [];
}

/** The clock is set by up to half a day, forward and back in turn, and once by very little to the same millisecond. */
async function steps(scene: Scene, times: number): Promise<Row[]> {
  const dir = scene.folder();
  const tanks = tanksToTest(times);
  const room = await startTimedRoom(scene, dir, startMs, { ...blocks, systems: [display, ...tanks] });
  const watch = watchHealth(scene, () => room.hub.url, await startPhone(scene, room.hub.brokerPort ?? 0));
  let told = 0;
  for (let time = 0; time < times; time += 1) {
    await speak(room, told, 40);
    told += 40;
    room.clock.step((time % 2 === 0 ? 1 : -1) * (1 + (time % 11)) * hourMs - (time % 3 === 0 ? 10 * secondMs : 0));
    await testTooHigh(watch, room.hub.url, time);
  }
  await speak(room, told, 40);
  told += 40;
  const broken = await silentAlarms(room);
  const toldOf = await toldRows(watch, 'steps of hours', tanks.length);
  await room.hub.stop();
  const values = readStore(storePathIn(dir), dir, (store) =>
    store.readings(series, 0, Number.MAX_SAFE_INTEGER).map(({ value }) => value),
  );
  return [
    { of: 'readings, steps of hours', caused: times, stake: told, ...tally(values, told), recoveryMs: [], broken },
    ...toldOf,
  ];
}

/** A board wakes at a time long ago, hears its probes, and is set right after a while. */
async function wakesAt(scene: Scene, woken: string, wakeMs: number): Promise<Row[]> {
  const dir = scene.folder();
  const tanks = tanksToTest(2);
  const blocksHere = { ...blocks, systems: [display, ...tanks] };
  const first = await startTimedRoom(scene, dir, startMs, blocksHere);
  await speak(first, 0, 30);
  await first.hub.stop();
  const room = await startTimedRoom(scene, dir, wakeMs, blocksHere);
  const watch = watchHealth(scene, () => room.hub.url, await startPhone(scene, room.hub.brokerPort ?? 0));
  await speak(room, 30, 60);
  // Once before it is set right, and once after.
  await testTooHigh(watch, room.hub.url, 0);
  const trueMs = startMs + 8 * hourMs;
  room.clock.step(trueMs - room.clock.nowMs());
  await speak(room, 90, 30);
  await testTooHigh(watch, room.hub.url, 1);
  await new Promise((resolve) => setTimeout(resolve, 50));
  const broken = await silentAlarms(room);
  const told = await toldRows(watch, woken, tanks.length);
  await room.hub.stop();
  const found = readStore(storePathIn(dir), dir, (store) => store.readings(series, 0, Number.MAX_SAFE_INTEGER));
  const misdated = found.filter(({ value, timeMs }) => {
    const n = Math.round((value - 25.2) * 10_000);
    const wanted = n < 30 ? startMs + (n + 1) * secondMs : trueMs + (n - 89) * secondMs;
    return timeMs !== wanted;
  }).length;
  const values = found.map(({ value }) => value);
  return [
    {
      ...{ of: `readings, ${woken}`, caused: 1, stake: 120, ...tally(values, 120), recoveryMs: [] },
      broken: [...broken, ...(misdated === 0 ? [] : [`${misdated} readings have a wrong time`])],
    },
    ...told,
  ];
}

/** A week in which the clock is changed: a reading each ten minutes, and the weekly export beside them. */
async function changedWeek(scene: Scene, week: string, firstMs: number, hours: number): Promise<Row[]> {
  const dir = scene.folder();
  const tanks = tanksToTest(1);
  const room = await startTimedRoom(scene, dir, firstMs, { ...blocks, systems: [display, ...tanks] });
  const watch = watchHealth(scene, () => room.hub.url, await startPhone(scene, room.hub.brokerPort ?? 0));
  const count = hours * 6;
  for (let n = 0; n < count; n += 1) {
    room.say('t', numbered(n));
    room.clock.advance(600_000);
    if (n % 100 === 0) await new Promise((resolve) => setImmediate(resolve));
  }
  await testTooHigh(watch, room.hub.url, 0);
  const told = await toldRows(watch, `week of ${hours} h`, tanks.length);
  room.hub.store.flush();
  const text = await (await fetch(`${room.hub.url}/api/weeks/${week}/daily.csv`)).text();
  const [head = '', ...rows] = text
    .replace(/^\uFEFF/, '')
    .trim()
    .split(/\r?\n/);
  const column = head.split(',').indexOf('day_length_hours');
  const lengths = rows.map((row) => Number(row.split(',')[column]));
  const sum = lengths.reduce((total, length) => total + length, 0);
  const hourly = room.hub.store.summaries(series, 'hour', firstMs, firstMs + hours * hourMs);
  await room.hub.stop();
  const values = readStore(storePathIn(dir), dir, (store) =>
    store.readings(series, 0, Number.MAX_SAFE_INTEGER).map(({ value }) => value),
  );
  return [
    {
      ...{ of: `readings, week of ${hours} h`, caused: 1, stake: count, ...tally(values, count), recoveryMs: [] },
      broken: [
        ...(sum === hours && rows.length === 7
          ? []
          : [`${rows.length} days of ${sum} h in the export, need 7 of ${hours}`]),
        ...(hourly.length === hours && hourly.every((hour) => hour.count === 6)
          ? []
          : [`${hourly.length} hours summed, need ${hours} of 6 readings`]),
      ],
      remark: `${week}, Lisbon: ${lengths.join(' + ')} h`,
    },
    ...told,
  ];
}

export const clockWrong: Fault = {
  name: 'clock',
  title: 'the clock stepped by hours under load, a board that wakes in 1970 or yesterday, both changes of summer time',
  amount: { of: 'steps', short: 10, long: 200 },
  needs: [],
  run: async (scene, times) => [
    ...(await steps(scene, times)),
    ...(await wakesAt(scene, 'woken in 1970', 0)),
    ...(await wakesAt(scene, 'woken yesterday', startMs - 24 * hourMs)),
    // EU directive 2000/84/EC: the last Sundays of March and October, 01:00 UTC. Lisbon is at UTC+0 in winter.
    ...(await changedWeek(scene, '2026-W13', Date.parse('2026-03-23T00:00:00Z'), 167)),
    ...(await changedWeek(scene, '2026-W43', Date.parse('2026-10-18T23:00:00Z'), 169)),
  ],
};
