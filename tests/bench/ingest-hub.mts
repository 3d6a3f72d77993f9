import { readFileSync } from 'node:fs';
import pino from 'pino';
import { systemClock } from '#adapters/clock/system-clock.ts';
import type { HubAdapters } from '#adapters/ports/hub-adapters.ts';
import type { ObservationSink } from '#adapters/ports/observation.ts';
import { createSerialEdge } from '#adapters/serial/serial-edge.ts';
import { hubAdaptersOn } from '#hub/compose.ts';
import { loadConfig } from '#hub/model/config/load.ts';
import { startHub } from '#hub/room/hub.ts';
import { sayReady, sayResult, task } from './child.ts';
import { createStopwatch } from './flood.ts';

/** The whole hub in this process, with a stopwatch where its edges hand readings over. */
const { configPath, dir, expected } = task<{ configPath: string; dir: string; expected: number }>();
const text = readFileSync(configPath, 'utf8');
const loaded = loadConfig(text, configPath, {}, (path) => readFileSync(path, 'utf8'));
if (!loaded.ok) throw new Error(loaded.problems.map((problem) => problem.text).join('\n'));
const stopwatch = createStopwatch(expected);
let whenAllCame: () => void;
const allCame = new Promise<void>((resolve) => {
  whenAllCame = resolve;
});

function watched(sink: ObservationSink): ObservationSink {
  return {
    ...sink,
    accept(observations) {
      let isLast = false;
      for (const { value } of observations) isLast = stopwatch.take(value) || isLast;
      const accepted = sink.accept(observations);
      if (isLast) whenAllCame();
      return accepted;
    },
  };
}

const real = hubAdaptersOn(systemClock);
const adapters: HubAdapters = {
  ...real,
  createLink: (choice, subscriptions, sink, ...rest) => real.createLink(choice, subscriptions, watched(sink), ...rest),
  // Without the bound of a thousand lines a second, which is far above what a serial line carries.
  createSerial: (choice, sink, listener) =>
    createSerialEdge({ ...choice, mostLinesPerSecond: Number.POSITIVE_INFINITY }, watched(sink), listener, systemClock),
};
const hub = await startHub(loaded.config, adapters, {
  ...{ pageDir: dir, log: pino({ level: 'silent' }), isInvented: false },
  secrets: { env: {}, readFile: (path) => readFileSync(path, 'utf8') },
});
sayReady();
await allCame;
hub.store.flush();
const drained = stopwatch.end(0);
const asked = hub.store.series().filter(({ metric }) => metric !== 'salinity' && metric !== 'specific_gravity');
const stored = asked.reduce((sum, series) => sum + hub.store.readings(series, 0, Number.MAX_SAFE_INTEGER).length, 0);
sayResult({ ...drained, stored });
