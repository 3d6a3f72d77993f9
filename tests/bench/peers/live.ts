import { existsSync, mkdirSync, readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { connectAsync } from 'mqtt';
import { atMost, type BenchPart, type Measured, type Measurement } from '#hub/bench/measurement.ts';
import { freePort } from '../../servers/free-port.ts';
import { startMosquitto } from '../../servers/mosquitto.ts';
import { startProcess, waitUntil } from '../../servers/server-process.ts';
import { processorSeconds, residentMB, startChild, startHubOf, writtenBytes } from '../child.ts';
import { band, configOf, excursions, tankCount, topicOf } from '../excursions.ts';
import { ascending, quantile } from '../quantile.ts';
import { inScratch, missing, writeConfig } from '../scratch.ts';
import { collectdPhone, writeCollectd } from './collectd.ts';
import { missingNode, nodeRedPhone, writeNodeRed } from './node-red.ts';

/** One that watches the same room through the same broker. */
type Peer = { name: string; phone: string; pid: number; stop(): Promise<unknown> };

type PeerKind = {
  name: string;
  /** Why it cannot run here; undefined when it can. */
  why?(): string | undefined;
  start(brokerPort: number, dir: string): Promise<Peer>;
};

async function startHub(brokerPort: number, dir: string): Promise<Peer> {
  const { pid, stop } = await startHubOf(writeConfig(dir, configOf(brokerPort)));
  return { name: 'the hub', phone: 'brinekeep/phone', pid, stop };
}

async function startBareScript(brokerPort: number, dir: string): Promise<Peer> {
  const phone = 'bare/phone';
  const topics = Array.from({ length: tankCount }, (_, tank) => topicOf(tank));
  const mqtt = { port: brokerPort, clientId: 'bare-script', topics, phone };
  const { pid, ready, result, stop } = startChild(
    'peers/bare-script',
    { dbPath: join(dir, 'bare.db'), band, mqtt },
    'script',
  );
  await ready;
  return {
    ...{ name: 'the bare script', phone, pid },
    stop() {
      stop();
      return result;
    },
  };
}

/** A program as a person starts it, ready when it has said so. */
async function startProgram(
  { name, phone, ready }: { name: string; phone: string; ready: string },
  command: string,
  args: string[],
): Promise<Peer> {
  const running = startProcess(command, args);
  await waitUntil(`${name} is ready`, () => running.log().includes(ready), { explain: running.log });
  return { name, phone, pid: running.child.pid!, stop: () => running.end('SIGTERM') };
}

const kinds: readonly PeerKind[] = [
  { name: 'the hub', start: startHub },
  { name: 'the bare script', start: startBareScript },
  {
    name: 'Node-RED with SQLite',
    why: () => missing('node-red') ?? missingNode(),
    start: async (brokerPort, dir) =>
      startProgram(
        { name: 'Node-RED with SQLite', phone: nodeRedPhone, ready: 'Connected to broker' },
        'node-red',
        writeNodeRed(dir, brokerPort, await freePort()),
      ),
  },
  {
    name: 'collectd with CSV',
    why: () => missing('collectd') ?? missing('mosquitto_sub'),
    async start(brokerPort, dir) {
      const peer = await startProgram(
        { name: 'collectd with CSV', phone: collectdPhone, ready: 'entering read-loop' },
        'collectd',
        ['-f', '-C', writeCollectd(dir, brokerPort)],
      );
      // What listens for it is started only then.
      const client = await connectAsync(`mqtt://127.0.0.1:${brokerPort}`);
      await waitUntil('collectd keeps a reading', async () => {
        await client.publishAsync(topicOf(0), String(band.low + 0.5), { qos: 1 });
        return existsSync(join(dir, 'csv', 'room'));
      });
      await client.endAsync();
      return peer;
    },
  },
];

type Seen = { cpuS: number; writtenBytes: number };

/** What a thread or a helper that ends meanwhile has no answer to. */
function ifThere<Found>(look: () => Found, otherwise: Found): Found {
  try {
    return look();
  } catch (error) {
    if (['ENOENT', 'ESRCH'].includes((error as NodeJS.ErrnoException).code ?? '')) return otherwise;
    throw error;
  }
}

/** What it has started to listen to the broker; any of its threads may have. */
function childrenOf(pid: number): number[] {
  return readdirSync(`/proc/${pid}/task`)
    .flatMap((thread) => ifThere(() => readFileSync(`/proc/${pid}/task/${thread}/children`, 'utf8'), '').split(' '))
    .filter((each) => each !== '')
    .map(Number);
}

function sumOf({ pid }: Peer, figure: (pid: number) => number): number {
  // One that has ended and is not taken note of yet has no memory.
  return childrenOf(pid).reduce((sum, child) => sum + (ifThere(() => figure(child), 0) || 0), figure(pid));
}

function seen(peer: Peer): Seen {
  return { cpuS: sumOf(peer, processorSeconds), writtenBytes: sumOf(peer, writtenBytes) };
}

const per = 100_000;

/** The hub and what else watches the room at once, on the same messages: what else this machine does slows all of them alike. */
async function measure(isQuick: boolean): Promise<Measurement[]> {
  const broker = await startMosquitto({ config: 'persistence false' });
  try {
    return await inScratch(async (dir) => {
      const peers: Peer[] = [];
      const absent: Measurement[] = [];
      try {
        for (const [place, { name, why, start }] of kinds.entries()) {
          const notMeasured = why?.();
          const own = join(dir, `${place}`);
          mkdirSync(own);
          if (notMeasured === undefined) peers.push(await start(broker.port, own));
          else absent.push({ name: `the same room, ${name}`, notMeasured });
        }
        let before: Seen[] = [];
        const { tookMs, readings } = await excursions(broker.port, {
          ...(isQuick ? { tanks: 2, settleS: 1, leavingEachS: 2 } : { tanks: 90, settleS: 30, leavingEachS: 0.6 }),
          noticeTopics: Object.fromEntries(peers.map(({ name, phone }) => [name, phone])),
          onSettled: () => {
            before = peers.map(seen);
          },
        });
        const found = peers.map((peer, place) => {
          const after = seen(peer);
          const took = ascending(tookMs[peer.name]!);
          return {
            name: peer.name,
            cpuS: ((after.cpuS - before[place]!.cpuS) / readings) * per,
            bytes: (after.writtenBytes - before[place]!.writtenBytes) / readings,
            memoryMB: sumOf(peer, (pid) => residentMB(pid).most),
            ...{ p50: quantile(took, 0.5), p99: quantile(took, 0.99), alarms: took.length },
          };
        });
        return [...linesOf(found), ...absent];
      } finally {
        await Promise.all(peers.map((peer) => peer.stop()));
      }
    });
  } finally {
    await broker.stop();
  }
}

type Found = {
  name: string;
  cpuS: number;
  bytes: number;
  memoryMB: number;
  p50: number;
  p99: number;
  alarms: number;
};

function linesOf(found: readonly Found[]): Measurement[] {
  const bare = found.find(({ name }) => name === 'the bare script')!;
  const cpuLine = ({ name, cpuS }: Found): Measured => {
    const line = { name: `processor time for 100 000 readings at 200/s, ${name}`, figure: cpuS, unit: 's' };
    if (name === bare.name) return line;
    const ratio = cpuS / bare.cpuS;
    return { ...line, ratio, beside: bare.name, ...(name === 'the hub' && { aim: atMost(ratio, 1.3, 'of it') }) };
  };
  return [
    ...found.map(cpuLine),
    ...found.flatMap(({ name, p50, p99, alarms }): Measured[] => [
      {
        name: `from a publish to its notice, ${name}: half of them`,
        figure: p50,
        unit: 'ms',
        remark: `${alarms} alarms`,
      },
      { name: `from a publish to its notice, ${name}: 99 of 100`, figure: p99, unit: 'ms' },
    ]),
    ...found.map(
      ({ name, bytes }): Measured => ({
        ...{ name: `written for a reading, alarms included, ${name}`, figure: bytes, unit: 'bytes' },
      }),
    ),
    ...found.map(
      ({ name, memoryMB }): Measured => ({ name: `memory at its highest, ${name}`, figure: memoryMB, unit: 'MB' }),
    ),
  ];
}

export const peersPart: BenchPart = {
  name: 'peers',
  async measure(isQuick) {
    const why = missing('mosquitto');
    return why === undefined ? measure(isQuick) : [{ name: 'the hub beside its peers', notMeasured: why }];
  },
};
