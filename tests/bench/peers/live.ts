import { join } from 'node:path';
import { atMost, type BenchPart, type Measured, type Measurement } from '#hub/bench/measurement.ts';
import { startMosquitto } from '../../servers/mosquitto.ts';
import { processorSeconds, residentMB, startChild, startHubOf, writtenBytes } from '../child.ts';
import { band, configOf, excursions, tankCount, topicOf } from '../excursions.ts';
import { ascending, quantile } from '../quantile.ts';
import { inScratch, missing, writeConfig } from '../scratch.ts';

/** One that watches the same room through the same broker. */
type Peer = { name: string; phone: string; pid: number; stop(): Promise<unknown> };

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

type Seen = { cpuS: number; writtenBytes: number };

function seen({ pid }: Peer): Seen {
  return { cpuS: processorSeconds(pid), writtenBytes: writtenBytes(pid) };
}

const per = 100_000;

/** The hub and what else watches the room at once, on the same messages: what else this machine does slows all of them alike. */
async function measure(isQuick: boolean): Promise<Measurement[]> {
  const broker = await startMosquitto({ config: 'persistence false' });
  try {
    return await inScratch(async (dir) => {
      const peers = [await startHub(broker.port, dir), await startBareScript(broker.port, dir)];
      try {
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
            memoryMB: residentMB(peer.pid).most,
            ...{ p50: quantile(took, 0.5), p99: quantile(took, 0.99), alarms: took.length },
          };
        });
        return linesOf(found);
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
