import { join } from 'node:path';
import Database from 'better-sqlite3';
import { openStore } from '#adapters/sqlite/open-store.ts';
import { roomAtWork } from '#hub/bench/room-at-work.ts';
import { roomConfig, roundOf, simulatedProbes } from '#hub/bench/simulated-room.ts';
import { sayResult, task, writtenBytes } from './child.ts';

/** Ten probes that each speak once a second, for so many simulated seconds; the writing is real. */
const given = task<{ dir: string; seconds: number; way: 'store' | 'room' | 'rows' }>();
const startMs = Date.UTC(2026, 0, 5);
const flushS = 10;
const probes = simulatedProbes(10);
const config = roomConfig(probes);
let nowMs = startMs;
const before = writtenBytes('self');

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
  const store = openStore({ path: join(given.dir, 'store.db'), flushMs: 3_600_000, clock });
  const room = roomAtWork(config, store, nowMs);
  eachSecond((second) => {
    room.accept(
      roundOf(probes, nowMs).map((observation) => ({ ...observation, receivedMs: nowMs })),
      nowMs,
    );
    if (second % 5 === 0) room.tick(nowMs);
    if (second % flushS === 0) store.flush();
    if (given.way === 'room' && second % 60 === 0) room.everyMinute(nowMs);
  });
  room.stop();
  store.close();
}
sayResult(writtenBytes('self') - before);
