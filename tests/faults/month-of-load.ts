import { tanksToTest, testTooHigh, toldRows } from './due-alarm.ts';
import { watchHealth } from './health-watch.ts';
import type { DayFigures, MonthFigures } from './memory.ts';
import { startPhone } from './people.ts';
import { promptNotices, startTimedRoom } from './rooms.ts';
import { inScene } from './scene.ts';

/**
 * The hub in this process on a clock that is moved as fast as the hub follows. Says heap and resident memory after each day,
 * the heap after a collection, and in the end what was said and what is kept.
 */
const [, dayText = '2'] = process.argv.slice(2);
const startMs = Date.parse('2026-05-01T00:00:00Z');
const dayMs = 86_400_000;
const everyMs = 10_000;
/** A probe, what it says and how far the day moves it; the first one leaves its band each noon. */
const probes = [
  { id: 't', system: 'display', metric: 'temperature', middle: 26, swing: 0.9 },
  { id: 'p', system: 'display', metric: 'ph', middle: 8.15, swing: 0.1 },
  { id: 'o', system: 'display', metric: 'orp', middle: 350, swing: 20 },
  { id: 'ft', system: 'frag', metric: 'temperature', middle: 25.7, swing: 0.3 },
  { id: 'fp', system: 'frag', metric: 'ph', middle: 8.2, swing: 0.1 },
  { id: 'fo', system: 'frag', metric: 'orp', middle: 360, swing: 20 },
] as const;
const megabytes = (bytes: number) => Math.round(bytes / 1_048_576);
const collect = (globalThis as { gc?: () => void }).gc ?? (() => {});
const nextTurn = () => new Promise((resolve) => setImmediate(resolve));

const figures = await inScene(async (scene): Promise<MonthFigures> => {
  const bands = { temperature: { low: 25, high: 26.5 }, alkalinity: { low: 7.5, high: 9 } };
  const room = await startTimedRoom(scene, scene.folder(), startMs, {
    flush_seconds: 600,
    backups: { enabled: false },
    notices: promptNotices,
    systems: [
      ...['display', 'frag'].map((id) => ({ id, name: `Tank ${id}`, volume_l: 400, bands })),
      ...tanksToTest(Number(dayText)),
    ],
    probes: probes.map(({ id, system, metric }) => ({ id, system, metric, mqtt: { topic: `tank/${id}` } })),
  });
  const watch = watchHealth(scene, () => room.hub.url, await startPhone(scene, room.hub.brokerPort ?? 0));
  const days: DayFigures[] = [];
  let [said, entries] = [0, 0];
  for (let day = 1; day <= Number(dayText); day += 1) {
    for (let atMs = 0; atMs < dayMs; atMs += everyMs) {
      room.clock.advance(everyMs);
      const phase = Math.sin((2 * Math.PI * atMs) / dayMs);
      for (const { id, middle, swing } of probes) {
        // The last digit moves as with a real probe.
        const noise = (((said * 7_919) % 100) / 100 - 0.5) * swing * 0.05;
        room.say(id, Number((middle + swing * phase + noise).toFixed(3)));
        said += 1;
      }
      const step = atMs / everyMs;
      if (step % 30 === 0) room.hub.store.flush();
      // So that timers of the real clock and the delivery of notices have their turns.
      if (step % 60 === 0) await nextTurn();
      if (step % 2_880 === 0) {
        const nowMs = room.clock.nowMs();
        room.hub.entries.test({ system: 'display', analyte: 'alkalinity', value: 8, confirmed: true }, nowMs);
        room.hub.entries.dose({ system: 'display', substance: 'sodium_bicarbonate', grams: 5 }, nowMs);
        entries += 2;
      }
    }
    await testTooHigh(watch, room.hub.url, day - 1);
    entries += 1;
    room.hub.store.flush();
    await new Promise((resolve) => setTimeout(resolve, 50));
    collect();
    const { heapUsed, rss } = process.memoryUsage();
    days.push({ day, heapMegabytes: megabytes(heapUsed), residentMegabytes: megabytes(rss) });
  }
  const told = await toldRows(watch, 'a month of load', days.length);
  const { store } = room.hub;
  let kept = 0;
  for (const { system, metric, id } of probes) {
    for (let day = 0; day < days.length; day += 1) {
      const fromMs = startMs + day * dayMs + 1;
      kept += store.readings({ system, metric, probe: id }, fromMs, fromMs + dayMs).length;
    }
  }
  const keptEntries = store.journal({ kind: 'test' }).length + store.journal({ kind: 'dose' }).length;
  return {
    days,
    said,
    kept,
    entries,
    keptEntries,
    told,
    alarms: store.journal({ kind: 'alarm', history: true }).length,
  };
});
process.stdout.write(`MONTH ${JSON.stringify(figures)}\n`);
process.exitCode = 0;
setTimeout(() => process.exit(), 500);
