import { rmSync } from 'node:fs';
import { openStore } from '#adapters/sqlite/open-store.ts';
import type { Flag, Reading, Series } from '#rules/quality/reading.ts';

const startMs = Date.UTC(2026, 0, 5, 21, 30);
const minuteMs = 60_000;
const series: Series[] = [
  { system: 'display', metric: 'temperature', probe: 'tank_t' },
  { system: 'display', metric: 'ph', probe: 'tank_ph' },
  { system: 'frag', metric: 'temperature', probe: 'frag_t' },
];

function reading(of: Series, index: number, step: number): Reading {
  const timeMs = startMs + step * 15_000 + index * 7 + (step % 5);
  const flag: Flag = step % 97 === 0 ? 'fail' : step % 31 === 0 ? 'suspect' : 'pass';
  const value = of.metric === 'ph' ? 8.1 + Math.sin(step / 50) / 7 : 25 + Math.round(Math.sin(step / 40) * 50) / 100;
  if (flag === 'fail') return { series: of, timeMs, quality: { flag, raw: -127, why: 'gross range' } };
  return { series: of, timeMs, quality: { flag, value } };
}

/**
 * Writes a small store with the program as it stands: a file to keep in fixtures/stores for each version of the schema, so
 * that every later program is tried on it. All of it is invented, and a pure function of the numbers here.
 */
export function writeFixtureStore(path: string): void {
  rmSync(path, { force: true });
  let nowMs = startMs;
  const store = openStore({ path, flushMs: 3_600_000, clock: { nowMs: () => nowMs, monotonicMs: () => nowMs } });
  // Four and a half hours over midnight, and one reading of a probe that then fell silent.
  store.add([reading({ system: 'display', metric: 'orp', probe: 'tank_orp' }, 0, 1)]);
  for (let step = 0; step < 4.5 * 240; step += 1) {
    nowMs = startMs + step * 15_000;
    store.add(series.map((of, index) => reading(of, index, step)));
    if (step % 40 === 39) store.flush();
  }
  const [first] = store.commit({
    entries: [
      { kind: 'dose', timeMs: startMs, recordedMs: startMs, system: 'display', body: { grams: 50 }, key: 'dose-1' },
      { kind: 'note', timeMs: startMs + minuteMs, recordedMs: nowMs, system: 'frag', body: { text: 'lamp cleaned' } },
    ],
    outbox: [
      { destination: 'mqtt', key: 'notice-1', payload: '{"title":"invented"}' },
      { destination: 'influx', key: 'batch-1', payload: 'temperature value=25' },
    ],
    documents: [{ name: 'rules', body: '{"state":"invented"}' }],
  });
  store.commit({
    entries: [
      { kind: 'dose', timeMs: startMs, recordedMs: nowMs, system: 'display', body: { grams: 5 }, corrects: first! },
    ],
  });
  store.park(store.outbox('mqtt', 1)[0]!.id, 'refused');
  store.close();
}
