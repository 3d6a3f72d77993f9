import { join } from 'node:path';
import Database from 'better-sqlite3';
import type { Notifier } from '#adapters/ports/notifier.ts';
import { openStore } from '#adapters/sqlite/open-store.ts';
import { roomAtWork } from '#hub/bench/room-at-work.ts';
import { roomBlocks, roundOf, simulatedProbes } from '#hub/bench/simulated-room.ts';
import { createDelivery } from '#hub/judgement/notices/deliver.ts';
import { configSchema } from '#hub/model/config/schema.ts';
import { sayResult, task, writtenBytes } from './child.ts';

/** Ten probes that each speak once a second, for so many simulated seconds; the writing is real. */
const given = task<{ dir: string; seconds: number; way: 'store' | 'room' | 'alarms' | 'no-alarms' | 'rows' }>();
const startMs = Date.UTC(2026, 0, 5);
const flushS = 10;
const probes = simulatedProbes(10);
// Short delays: what is counted is the alarm's own.
const rules = [{ rule: 'out_of_band', on_delay_minutes: 1, off_delay_minutes: 1 }];
const config = configSchema.parse({ ...roomBlocks(probes, 'number'), ...(given.way.endsWith('alarms') && { rules }) });
/** Inside and outside of their bands, so near to the edge that no jump is a matter of its own. */
const places: Partial<Record<string, { inside: number; outside: number }>> = {
  temperature: { inside: 26.2, outside: 26.7 },
  orp: { inside: 405, outside: 434 },
};
const leaving = probes.filter(({ metric }) => places[metric] !== undefined);
let nowMs = startMs;
const before = writtenBytes('self');

/**
 * One probe after the other leaves its band once in this time, long enough to be told, and comes back; none a third time in a
 * day, by which it would chatter.
 */
const lifeS = 1800;
const [outFromS, acknowledgedS, outUntilS] = [105, 704, 805];

function steadyOrOut(round: { source: string; value: number }[], second: number): void {
  const inLife = second % lifeS;
  const turn = Math.floor(second / lifeS) % leaving.length;
  for (const [place, { topic, metric }] of leaving.entries()) {
    const isOut = given.way === 'alarms' && place === turn && inLife >= outFromS && inLife < outUntilS;
    const reading = round.find(({ source }) => source === `mqtt:${topic}`)!;
    const { inside, outside } = places[metric]!;
    reading.value = isOut ? outside : inside;
  }
}

/** Takes all that it is given. */
const phone: Notifier = {
  destination: 'mqtt',
  itemOf: (notice) => JSON.stringify(notice),
  placeOf: () => undefined,
  isUp: () => true,
  send: async () => ({ is: 'acknowledged' }),
  reconnect: () => {},
};

function eachSecond(work: (second: number, nowMs: number) => void): void {
  for (let second = 1; second <= given.seconds; second += 1) {
    nowMs = startMs + second * 1000;
    work(second, nowMs);
  }
}

if (given.way === 'rows') {
  const db = new Database(join(given.dir, 'rows.db'));
  db.exec('CREATE TABLE readings (id INTEGER PRIMARY KEY, series TEXT, time INTEGER, value REAL)');
  db.exec('CREATE INDEX by_series ON readings (series, time)');
  const insert = db.prepare('INSERT INTO readings (series, time, value) VALUES (?, ?, ?)');
  eachSecond(() => {
    for (const { id, valueAt } of probes) insert.run(id, nowMs, valueAt(nowMs));
  });
  db.close();
} else {
  const clock = { nowMs: () => nowMs, monotonicMs: () => nowMs };
  const path = join(given.dir, 'store.db');
  // As its timer would, which begins anew with each flush.
  let flushedAtMs = startMs;
  const onFlushed = () => {
    flushedAtMs = nowMs;
  };
  const store = openStore({ path, flushMs: 3_600_000, clock, onFlushed });
  const delivery = createDelivery(store, phone);
  const room = roomAtWork(config, store, nowMs, { notifier: phone, nudge: delivery.nudge });
  for (let second = 1; second <= given.seconds; second += 1) {
    nowMs = startMs + second * 1000;
    const round = roundOf(probes, nowMs).map((observation) => ({ ...observation, receivedMs: nowMs }));
    if (given.way.endsWith('alarms')) steadyOrOut(round, second);
    room.accept(round, nowMs);
    if (second % 5 === 0) room.tick(nowMs);
    if (given.way === 'alarms' && second % lifeS === acknowledgedS)
      for (const { id } of room.standing(nowMs)) room.command({ do: 'acknowledge', alarm: id, by: 'phone' }, nowMs);
    if (nowMs - flushedAtMs >= flushS * 1000) store.flush();
    if (given.way !== 'store' && second % 60 === 0) room.everyMinute(nowMs);
    // Deliveries have their turn.
    await new Promise((resolve) => setImmediate(resolve));
  }
  await delivery.stop();
  room.stop();
  const told = store.journal({ kind: 'alarm' }).map(({ body }) => body['state']);
  store.close();
  // What a start brings into its tables belongs to the alarms as well.
  openStore({ path, flushMs: 3_600_000, clock }).close();
  const lives = Math.floor(given.seconds / lifeS);
  const states = ['raised', 'acknowledged', 'cleared'].map((state) => told.filter((each) => each === state).length);
  if (given.way === 'alarms' && (told.length !== 3 * lives || states.some((count) => count !== lives)))
    throw new Error(`${lives} alarms were to be raised, acknowledged and cleared, and were ${told.join(', ')}`);
}
sayResult(writtenBytes('self') - before);
