import { once } from 'node:events';
import { createWriteStream } from 'node:fs';
import { join } from 'node:path';
import { connectAsync } from 'mqtt';
import { atLeast, type BenchPart, type Measured, type Measurement } from '#hub/bench/measurement.ts';
import { roomBlocks, simulatedProbes } from '#hub/bench/simulated-room.ts';
import { type Mosquitto, startMosquitto } from '../servers/mosquitto.ts';
import { startPtyPair } from '../servers/socat.ts';
import { startChild } from './child.ts';
import { type Drained, type FloodReading, floodReadings, probeCount, senmlOf, sustained, type Took } from './flood.ts';
import { type Outgoing, publishAtOnce } from './publish-at-once.ts';
import { ascending, quantile } from './quantile.ts';
import { inScratch, missing, writeConfig } from './scratch.ts';

const mqttName = 'Mosquitto at QoS 1, all stages to the disk';
const serialName = 'serial lines, all stages to the disk';

/** The hub's own name at the broker, as its default is. */
const clientId = 'brinekeep-brinekeep';

/** Nothing is written by the broker, and it keeps all that waits. */
const brokerConfig = 'persistence false\nmax_queued_messages 0\nmax_queued_bytes 0\nmax_inflight_messages 1000';

/** Wide, so that the bare script looks at each reading as the hub does, and finds nothing. */
const band = { low: -1e6, high: 1e6 };

function checked(drained: Drained, expected: number): Drained {
  if (drained.count !== expected || drained.stored !== expected)
    throw new Error(`${drained.count} readings came and ${drained.stored} are stored, of ${expected}`);
  return drained;
}

/** Of some runs the middle one, by processor time. */
function middle(runs: readonly Drained[]): Drained {
  const cpuS = quantile(ascending(runs.map((run) => run.cpuS)), 0.5);
  return runs.find((run) => run.cpuS === cpuS)!;
}

function* messagesOf(readings: Iterable<FloodReading>): Generator<Outgoing> {
  for (const reading of readings) yield { topic: reading.topic, payload: senmlOf(reading) };
}

/** Lets messages of QoS 1 wait in the broker for a client of a known name: who publishes them then costs nothing. */
async function queue(broker: Mosquitto, count: number): Promise<void> {
  const probes = simulatedProbes(probeCount);
  const session = await connectAsync(`mqtt://127.0.0.1:${broker.port}`, { clientId, clean: false });
  await session.subscribeAsync(
    probes.map(({ topic }) => topic),
    { qos: 1 },
  );
  await session.endAsync();
  await publishAtOnce(broker.port, messagesOf(floodReadings(probes, count, Date.now())));
}

async function drainedBy(who: 'hub' | 'bare', count: number): Promise<Drained> {
  const broker = await startMosquitto({ config: brokerConfig });
  try {
    await queue(broker, count);
    if (who === 'bare') {
      return await inScratch(async (dir) => {
        const topics = simulatedProbes(probeCount).map(({ topic }) => topic);
        const mqtt = { port: broker.port, clientId, topics, phone: 'bare/phone' };
        const given = { dbPath: join(dir, 'bare.db'), band, mqtt, expected: count };
        return checked(await startChild<Drained>('peers/bare-script', given, 'script').result, count);
      });
    }
    return await inScratch(async (dir) => {
      const configPath = writeConfig(dir, {
        ...roomBlocks(simulatedProbes(probeCount), 'senml'),
        mqtt: { url: `mqtt://127.0.0.1:${broker.port}` },
      });
      return checked(await startChild<Drained>('ingest-hub', { configPath, dir, expected: count }).result, count);
    });
  } finally {
    await broker.stop();
  }
}

const beside = 'the bare script, which keeps and checks them too';

/** By the wall clock and by processor time. Of the two the second says what one core can do, whatever else runs here. */
function linesOf(hub: Took, bare: Took, name: string): [Measured, Measured] {
  const rates = (seconds: 'wallS' | 'cpuS') => {
    const figure = hub.count / hub[seconds];
    return { figure, ratio: figure / (bare.count / bare[seconds]), beside };
  };
  return [
    { name: `${name}: by the wall clock`, unit: 'readings/s', ...rates('wallS') },
    { name: `${name}: for a second of processor time`, unit: 'readings/s', ...rates('cpuS') },
  ];
}

async function measureMqtt(isQuick: boolean): Promise<Measurement[]> {
  const count = isQuick ? 1000 : 1_000_000;
  const runs = isQuick ? 1 : 3;
  const [hubs, bares]: [Drained[], Drained[]] = [[], []];
  for (let run = 0; run < runs; run += 1) {
    bares.push(await drainedBy('bare', count));
    hubs.push(await drainedBy('hub', count));
  }
  const [hub, bare] = [middle(hubs), middle(bares)];
  const burst = linesOf(hub.burst, bare.burst, `${mqttName}, the first ${hub.burst.count}`);
  const [byClock, byProcessor] = linesOf(sustained(hub), sustained(bare), `${mqttName}, the rest of ${count}`);
  const isEnough = byClock.figure >= 60_000 || byClock.ratio! >= 0.6;
  return [
    ...burst,
    { ...byClock, aim: { text: 'at least 60 000, or 0.6 of it', isMet: isEnough } },
    byProcessor,
    {
      name: 'memory of the hub in the flood',
      ...{ figure: hub.mostMB, unit: 'MB at most', ratio: hub.mostMB / bare.mostMB, beside: 'the bare script' },
    },
  ];
}

/** Three readings a line, with their time. */
const readingsOfLine = 3;

async function writeLines(path: string, count: number): Promise<void> {
  const probes = simulatedProbes(readingsOfLine);
  const out = createWriteStream(path, { flags: 'r+' });
  // The first line after an opening may be torn, and is never taken.
  out.write('\n');
  const endMs = Date.now();
  for (let n = 0; n < count; n += 1) {
    const timeMs = endMs - (count - n) * 100;
    const [t, ph, ec] = probes.map(({ valueAt }) => valueAt(timeMs));
    const line = `[{"bt":${timeMs / 1000},"n":"t","v":${t}},{"n":"ph","v":${ph}},{"n":"ec","v":${ec}}]\n`;
    if (!out.write(line)) await once(out, 'drain');
  }
  await new Promise<void>((resolve) => out.end(resolve));
}

async function measureSerial(isQuick: boolean): Promise<Measurement[]> {
  const lines = isQuick ? 500 : 60_000;
  const through = async (name: string, given: (path: string) => unknown, expected: number): Promise<Drained> => {
    const pty = await startPtyPair();
    const child = startChild<Drained>(name, given(pty.a), name === 'ingest-hub' ? 'installed' : 'script');
    try {
      await child.ready;
      await Promise.all([writeLines(pty.b, lines), child.result]);
      return checked(await child.result, expected);
    } finally {
      child.stop();
      await pty.stop();
    }
  };
  const expected = lines * readingsOfLine;
  const bare = () =>
    inScratch((dir) =>
      through(
        'peers/bare-script',
        (serialPath) => ({ dbPath: join(dir, 'bare.db'), band, serialPath, expected }),
        expected,
      ),
    );
  const hub = () =>
    inScratch((dir) =>
      through(
        'ingest-hub',
        (path) => {
          const { probes, ...blocks } = roomBlocks(simulatedProbes(readingsOfLine), 'senml');
          const configPath = writeConfig(dir, {
            ...blocks,
            serial: [{ id: 'board', path, baud: 115_200, format: 'senml' }],
            probes: probes.map(({ mqtt: _mqtt, ...probe }, index) => ({
              ...{ ...probe, every_seconds: 1 },
              serial: { port: 'board', channel: ['t', 'ph', 'ec'][index] },
            })),
          });
          return { configPath, dir, expected };
        },
        expected,
      ),
    );
  const [hubs, bares]: [Drained[], Drained[]] = [[], []];
  for (let run = 0; run < (isQuick ? 1 : 3); run += 1) {
    bares.push(await bare());
    hubs.push(await hub());
  }
  const [byClock, byProcessor] = linesOf(middle(hubs), middle(bares), serialName);
  return [byClock, { ...byProcessor, aim: atLeast(byProcessor.ratio!, 0.6, 'of it') }];
}

export const ingestParts: BenchPart[] = [
  {
    name: 'ingest-mqtt',
    async measure(isQuick) {
      const why = missing('mosquitto');
      return why === undefined ? measureMqtt(isQuick) : [{ name: mqttName, notMeasured: why }];
    },
  },
  {
    name: 'ingest-serial',
    async measure(isQuick) {
      const why = missing('socat');
      return why === undefined ? measureSerial(isQuick) : [{ name: serialName, notMeasured: why }];
    },
  },
];
