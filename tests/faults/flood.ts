import { readFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { freePort } from '../servers/free-port.ts';
import { postJson, roomText, startHubProcess } from '../servers/hub-process.ts';
import { startProcess } from '../servers/server-process.ts';
import { startPtyPair } from '../servers/socat.ts';
import type { Fault } from './fault.ts';
import { watchHealth } from './health-watch.ts';
import { ask, atPace, edgeCount, startPhone, startProbeLine, timeUntil } from './people.ts';
import { promptNotices, storePathIn } from './rooms.ts';
import { doubledIn, missingOf, readStore } from './stored.ts';

const floodPerSecond = 5_000;
const quietPerSecond = 5;
const mostMegabytes = 400;
/** An alarm every so often, each of a tank of its own. */
const alarmEachMs = 1_500;
const flooder = fileURLToPath(new URL('flooder.ts', import.meta.url));

type Health = { edges: { name: string; counts: Record<string, number> }[]; readings: Record<string, number> };

function residentMegabytes(pid: number): number {
  const kilobytes = /VmHWM:\s+(\d+)/.exec(readFileSync(`/proc/${pid}/status`, 'utf8'))?.[1];
  return Number(kilobytes) / 1024;
}

export const flooded: Fault = {
  name: 'flood',
  title: `a probe gone wild with ${floodPerSecond} lines/s on a serial line, another with as many messages/s by MQTT, beside a quiet one`,
  amount: { of: 's each', short: 4, long: 60 },
  needs: ['socat'],
  async run(scene, seconds) {
    const dir = scene.folder();
    const cable = await startPtyPair();
    scene.atEnd(cable.stop);
    const brokerPort = await freePort();
    const tanks = Array.from({ length: Math.ceil((2 * seconds * 1000) / alarmEachMs) + 2 }, (_, n) => `f${n}`);
    const hub = await startHubProcess(
      dir,
      roomText(dir, {
        broker: { port: brokerPort },
        notices: promptNotices,
        systems: ['display', ...tanks].map((id) => {
          return { id, name: `Tank ${id}.`, volume_l: 400, bands: { alkalinity: { low: 7.5, high: 9 } } };
        }),
        serial: [{ id: 'bench', path: cable.a, baud: 115_200, format: 'key_value' }],
        probes: [
          { id: 'ws', system: 'display', metric: 'temperature', serial: { port: 'bench', channel: 't' } },
          { id: 'wm', system: 'display', metric: 'temperature', mqtt: { topic: 'wild/t' } },
          {
            ...{ id: 'q', system: 'display', metric: 'temperature' },
            mqtt: { topic: 'quiet/t', format: 'json', channel: 't', time_path: 'at' },
          },
        ],
      }),
    );
    scene.atEnd(() => hub.end('SIGKILL'));
    const line = await startProbeLine(scene, brokerPort);
    const phone = await startPhone(scene, brokerPort);
    const watch = watchHealth(scene, () => hub.url, phone);
    const toldInMs: number[] = [];
    let alarms = 0;
    /** A test out of its band, and until the phone is told. */
    async function raise(): Promise<void> {
      const tank = tanks[alarms];
      if (tank === undefined) return;
      alarms += 1;
      watch.mustTell(tank, new RegExp(`Tank ${tank}\\..*above the band`));
      const body = { system: tank, analyte: 'alkalinity', value: 12, confirmed: true };
      const beganMs = performance.now();
      const { status } = await postJson(`${hub.url}/api/tests`, body);
      if (status !== 201) broken.push(`a test was answered ${status} in the flood`);
      await timeUntil('the alarm is told', () => !watch.untold().includes(tank)).catch(() => {});
      toldInMs.push(performance.now() - beganMs);
    }
    const sent: string[] = [];
    const quiet = atPace(scene, quietPerSecond, (n) => {
      const at = Date.now() + (n % 2);
      sent.push(String(at));
      line.publish('quiet/t', JSON.stringify({ at, t: 25.2 + (n % 100) / 1000 }), { qos: 1 });
    });
    const [answeredMs, broken]: [number[], string[]] = [[], []];
    const beforeMegabytes = residentMegabytes(hub.child.pid!);
    let said = { serial: 0, mqtt: 0 };
    /** Bytes of the flood that its sender could not get rid of. */
    let heldBack = 0;
    for (const kind of ['serial', 'mqtt'] as const) {
      const to = kind === 'serial' ? cable.b : String(brokerPort);
      const args = ['--import', import.meta.resolve('tsx'), flooder, kind, to, String(floodPerSecond), String(seconds)];
      const wild = startProcess(process.execPath, args);
      scene.atEnd(() => wild.end('SIGKILL'));
      let lastAlarmMs = Number.NEGATIVE_INFINITY;
      while (wild.isRunning()) {
        if (performance.now() - lastAlarmMs > alarmEachMs) {
          lastAlarmMs = performance.now();
          await raise();
        }
        const began = performance.now();
        await ask<Health>(`${hub.url}/health`).then(
          () => answeredMs.push(performance.now() - began),
          (error: unknown) => broken.push(`the hub did not answer in the ${kind} flood: ${String(error)}`),
        );
        await new Promise((resolve) => setTimeout(resolve, 100));
      }
      said = { ...said, [kind]: Number(/said (\d+)/.exec(wild.log())?.[1] ?? 0) };
      heldBack = Number(/bytes left (\d+)/.exec(wild.log())?.[1] ?? 0);
      if (said[kind] === 0) broken.push(`the ${kind} probe did not flood: ${wild.log().slice(-300)}`);
    }
    const megabytes = residentMegabytes(hub.child.pid!);
    quiet.stop();
    const quietCount = async () => {
      await new Promise((resolve) => setTimeout(resolve, 200));
      return edgeCount(hub.url, 'mqtt', 'readings');
    };
    let before = -1;
    const recoveryMs = await timeUntil('all is taken', async () => {
      const now = await quietCount();
      const isStill = now === before;
      before = now;
      return isStill;
    });
    const figures = await (await fetch(`${hub.url}/metrics`)).text();
    const figure = Number(/^brinekeep_dropped_total\{cause="too_many"\} (\d+)$/m.exec(figures)?.[1] ?? 0);
    const { edges } = await ask<Health>(`${hub.url}/health`);
    const countsOf = (edge: string) => edges.find(({ name }) => name === edge)?.counts ?? {};
    const bySerial = countsOf('serial:bench');
    const byMqtt = countsOf('mqtt');
    const untold = watch.untold();
    const answers = await watch.row('flood');
    await hub.end('SIGTERM');
    const stored = readStore(storePathIn(dir), dir, (store) =>
      store
        .readings({ system: 'display', metric: 'temperature', probe: 'q' }, 0, Number.MAX_SAFE_INTEGER)
        .map(({ timeMs }) => String(timeMs)),
    );
    const wildHeard = (byMqtt['messages'] ?? 0) - (byMqtt['repeated'] ?? 0) - sent.length;
    // Beyond its rate the broker inside drops what asks for no acknowledgement, and counts it.
    const messagesCounted = countsOf('broker')['too_many'] ?? 0;
    const linesCounted = (bySerial['readings'] ?? 0) + (bySerial['too_many'] ?? 0);
    return [
      {
        ...{ of: 'readings of the quiet probe', caused: 2, stake: sent.length, lost: missingOf(sent, stored).length },
        doubled: doubledIn(stored),
        recoveryMs: [recoveryMs],
        broken: [
          ...broken,
          ...(megabytes - beforeMegabytes < mostMegabytes
            ? []
            : [`memory grew by ${(megabytes - beforeMegabytes).toFixed(0)} MB`]),
          ...((bySerial['too_many'] ?? 0) > 0 ? [] : ['no dropped serial line was counted']),
          ...(figure === (bySerial['too_many'] ?? 0) + (byMqtt['too_many'] ?? 0)
            ? []
            : [`/metrics says ${figure} were dropped, and ${bySerial['too_many']} and ${byMqtt['too_many']} were`]),
        ],
        remark:
          `serial: ${said.serial} lines said, ${bySerial['lines'] ?? 0} heard, ${bySerial['too_many'] ?? 0} dropped and counted (${linesCounted} accounted for); ` +
          `slowest answer ${(Math.max(0, ...answeredMs) / 1000).toFixed(1)} s of ${answeredMs.length}; memory at most ${megabytes.toFixed(0)} MB, ${beforeMegabytes.toFixed(0)} before`,
      },
      {
        ...{ of: 'messages of the flood, QoS 0', caused: 1, stake: said.mqtt, doubled: 0, recoveryMs: [] },
        lost: Math.max(0, said.mqtt - wildHeard - messagesCounted),
        // A link that breaks takes with it what has no acknowledgement, and what the sender kept was never here.
        lostAtMost: byMqtt['connected'] === 1 && heldBack === 0 ? 0 : said.mqtt,
        remark: `${wildHeard} heard, ${messagesCounted} dropped and counted, ${heldBack} bytes held back by the sender; the link stood ${byMqtt['connected']} times; ${countsOf('broker')['slow_cut_off']} clients cut off as too slow`,
      },
      {
        ...{
          of: 'alarms in the flood',
          caused: 2,
          stake: alarms,
          lost: untold.length,
          doubled: 0,
          recoveryMs: toldInMs,
        },
        remark: 'recovered in: from the moment that the test is sent until the phone has the line',
      },
      answers,
    ];
  },
};
