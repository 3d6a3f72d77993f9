import { openStore } from '#adapters/sqlite/open-store.ts';
import { sayAtOnce } from './say-at-once.ts';
import { passed, temperature } from './series.ts';

/**
 * Writes to a store until it is killed, and says on standard output what the store has confirmed, one word a line:
 * `c<n>` for a commit, `f<n>` for a flush of five readings.
 */
const [path = '', first = '1'] = process.argv.slice(2);
const clock = { nowMs: () => Date.now(), monotonicMs: () => performance.now() };
// Packing is due at about each third flush, so that kills fall into it as well.
const store = openStore({
  path,
  flushMs: 3_600_000,
  clock,
  packAtReadings: 12,
  packPauseMs: 1,
  packStepMs: 0,
  mirrorBatch: (readings) => ({ destination: 'influx', key: `f${readings[0]?.timeMs}`, payload: `${readings.length}` }),
});
for (let n = Number(first); ; n += 1) {
  store.commit({
    entries: [{ kind: 'note', timeMs: n, recordedMs: n, system: 'display', body: { n }, key: `k${n}` }],
    documents: [{ name: 'last', body: `${n}` }],
    outbox: [{ destination: 'mqtt', key: `k${n}`, payload: `${n}` }],
  });
  sayAtOnce(`c${n}\n`);
  store.add([0, 1, 2, 3, 4].map((k) => passed(temperature, n * 10_000 + k * 1_000, n + k / 10)));
  store.flush();
  sayAtOnce(`f${n}\n`);
}
