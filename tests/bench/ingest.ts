import { once } from 'node:events';
import { createWriteStream } from 'node:fs';
import { join } from 'node:path';
import Database from 'better-sqlite3';
import { connectAsync } from 'mqtt';
import {
  ascending,
  atLeast,
  type BenchPart,
  type Measured,
  type Measurement,
  quantile,
} from '#hub/bench/measurement.ts';
import { roomBlocks, simulatedProbes } from '#hub/bench/simulated-room.ts';
import { type Mosquitto, startMosquitto } from '../servers/mosquitto.ts';
import { startPtyPair } from '../servers/socat.ts';
import { startChild } from './child.ts';
import { type Drained, floodReadings, probeCount, senmlOf } from './flood.ts';
import { inScratch, missing, writeConfig } from './scratch.ts';

const mqttName = 'Mosquitto at QoS 1, all stages to the disk';
const serialName = 'serial lines, all stages to the disk';

/** The hub's own name at the broker, as its default is. */
const clientId = 'brinekeep-brinekeep';

/** Nothing is written by the broker, and it keeps all that waits. */
const brokerConfig = 'persistence false\nmax_queued_messages 0\nmax_inflight_messages 1000';

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

/** Lets messages of QoS 1 wait in the broker for a client of a known name: who publishes them then costs nothing. */
async function queue(broker: Mosquitto, count: number): Promise<void> {
  const probes = simulatedProbes(probeCount);
  const session = await connectAsync(`mqtt://127.0.0.1:${broker.port}`, { clientId, clean: false });
  await session.subscribeAsync(
    probes.map(({ topic }) => topic),
    { qos: 1 },
  );
  await session.endAsync();
  const publisher = await connectAsync(`mqtt://127.0.0.1:${broker.port}`);
  let open: Promise<unknown>[] = [];
  for (const reading of floodReadings(probes, count, Date.now())) {
    open.push(publisher.publishAsync(reading.topic, senmlOf(reading), { qos: 1 }));
    if (open.length < 500) continue;
    await Promise.all(open);
    open = [];
  }
  await Promise.all(open);
  await publisher.endAsync();
}

async function drainedBy(who: 'hub' | 'bare', count: number): Promise<Drained> {
  const broker = await startMosquitto({ config: brokerConfig });
  try {
    await queue(broker, count);
    if (who === 'bare') {
      const given = { expected: count, mqtt: { port: broker.port, clientId } };
      return checked(await startChild<Drained>('ingest-bare', given).result, count);
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

/** The same rows in a plain table, a transaction for each ten thousand of them. */
function bareInserts(path: string, count: number): number {
  const rows = [...floodReadings(simulatedProbes(probeCount), count, Date.now())].map(
    ({ timeMs, value }, n) => [n % probeCount, timeMs, value] as const,
  );
  const db = new Database(path);
  db.pragma('journal_mode = WAL');
  db.pragma('synchronous = FULL');
  db.exec('CREATE TABLE readings (series INTEGER, time INTEGER, value REAL, PRIMARY KEY (series, time)) WITHOUT ROWID');
  const insert = db.prepare('INSERT INTO readings VALUES (?, ?, ?)');
  const started = performance.now();
  for (let from = 0; from < rows.length; from += 10_000) {
    db.transaction(() => {
      for (const row of rows.slice(from, from + 10_000)) insert.run(row);
    })();
  }
  const wallS = (performance.now() - started) / 1000;
  db.close();
  return count / wallS;
}

type Beside = { name: string; beside: string };

/** By the wall clock and by processor time. Of the two the second says what one core can do, whatever else runs here. */
function linesOf(hub: Drained, bare: Drained, { name, beside }: Beside): [Measured, Measured] {
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
  const count = isQuick ? 1000 : 200_000;
  const runs = isQuick ? 1 : 3;
  const [hubs, bares]: [Drained[], Drained[]] = [[], []];
  for (let run = 0; run < runs; run += 1) {
    bares.push(await drainedBy('bare', count));
    hubs.push(await drainedBy('hub', count));
  }
  const hub = middle(hubs);
  const inserted = await inScratch(async (dir) => bareInserts(join(dir, 'bare.db'), count));
  const beside = 'a bare mqtt.js subscriber that parses them';
  const [byClock, byProcessor] = linesOf(hub, middle(bares), { name: mqttName, beside });
  return [
    byClock,
    { ...byProcessor, aim: atLeast(byProcessor.ratio!, 0.6, 'of it') },
    {
      name: 'the same rows by a bare better-sqlite3, 10 000 at once',
      ...{ figure: inserted, unit: 'rows/s', ratio: inserted / (count / hub.wallS), beside: 'what the hub takes in' },
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
    const child = startChild<Drained>(name, given(pty.a));
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
  const bare = () => through('ingest-bare', (serialPath) => ({ serialPath, expected }), expected);
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
  const beside = 'a bare serialport that parses its lines';
  const [byClock, byProcessor] = linesOf(middle(hubs), middle(bares), { name: serialName, beside });
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
