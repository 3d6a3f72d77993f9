import pino from 'pino';
import type { MessageLink } from '#adapters/ports/edge.ts';
import type { ObservationSink } from '#adapters/ports/observation.ts';
import { everyMs, roomBlocks, roundOf, simulatedProbes } from '#hub/bench/simulated-room.ts';
import { hubAdaptersOn } from '#hub/compose.ts';
import { configSchema } from '#hub/model/config/schema.ts';
import { startHub } from '#hub/room/hub.ts';
import { createManualClock } from '../adapters/clock/manual-clock.ts';
import { residentMB, sayResult, task } from './child.ts';

/** The whole hub in this process, for so many simulated hours. Its probes speak through a link that is none. */
const { dir, metrics, hours } = task<{ dir: string; metrics: number; hours: number }>();
const probes = simulatedProbes(metrics);
const startMs = Date.UTC(2030, 0, 5);
const clock = createManualClock(startMs);
const real = hubAdaptersOn(clock);
let into: ObservationSink | undefined;
const link: MessageLink = {
  start: async () => {},
  stop: async () => {},
  publish: async () => {},
  reconnect: () => {},
  state: () => ({ name: 'mqtt', isUp: true, counts: {} }),
};
const hub = await startHub(
  configSchema.parse({
    ...{ ...roomBlocks(probes, 'number'), data_dir: dir, weekly: { dir }, http: { port: 0 }, broker: { port: 0 } },
    backups: { enabled: false },
  }),
  {
    ...real,
    createLink: (_choice, _subscriptions, sink) => {
      into = sink;
      return link;
    },
  },
  {
    ...{ pageDir: dir, log: pino({ level: 'silent' }), isInvented: false },
    secrets: { env: {}, readFile: () => '' },
  },
);
const atStart = residentMB('self').now;
const rounds = Math.round((hours * 3_600_000) / everyMs);
for (let round = 0; round < rounds; round += 1) {
  const observations = roundOf(probes, clock.nowMs());
  clock.advance(everyMs);
  for (const observation of observations) into!.accept([observation]);
  // The timers of the hub run on the machine's time and must get their turn.
  await new Promise((resolve) => setImmediate(resolve));
}
const { now, most } = residentMB('self');
const series = hub.store.series().length;
sayResult({ atStart, now, most, series });
