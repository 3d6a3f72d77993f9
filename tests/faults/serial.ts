import {
  closeSync,
  existsSync,
  mkdirSync,
  openSync,
  readlinkSync,
  renameSync,
  rmSync,
  symlinkSync,
  writeSync,
} from 'node:fs';
import { join } from 'node:path';
import { roomText, startHubProcess } from '../servers/hub-process.ts';
import { startMosquitto } from '../servers/mosquitto.ts';
import { type ServerProcess, startProcess, waitUntil } from '../servers/server-process.ts';
import { toldRows } from './due-alarm.ts';
import type { Fault } from './fault.ts';
import { watchHealth } from './health-watch.ts';
import { edgeCount, startPhone, timeUntil } from './people.ts';
import { promptRules, storePathIn } from './rooms.ts';
import { doubledIn, missingOf, readStore } from './stored.ts';

const linesEachTime = 40;
const series = { system: 'display', metric: 'temperature', probe: 't' } as const;

/** A cable whose hub end is found by a lasting name that points to whatever terminal it got, as below /dev/serial/by-id. */
function cableIn(dir: string) {
  const byId = join(dir, 'by-id');
  mkdirSync(byId);
  const name = join(byId, 'usb-probe_board-if00');
  let running: ServerProcess | undefined;
  let times = 0;
  return {
    name,
    terminal: () => readlinkSync(name),
    async plug(): Promise<string> {
      times += 1;
      const [a, b] = [join(dir, `a${times}`), join(dir, `b${times}`)];
      const socat = startProcess('socat', [`pty,raw,echo=0,link=${a}`, `pty,raw,echo=0,link=${b}`]);
      running = socat;
      await waitUntil('the cable is there', () => existsSync(a) && existsSync(b), { explain: socat.log });
      symlinkSync(readlinkSync(a), `${name}.new`);
      renameSync(`${name}.new`, name);
      return b;
    },
    async unplug(): Promise<void> {
      rmSync(name, { force: true });
      await running?.end('SIGKILL');
    },
    stop: async () => running?.end('SIGKILL'),
  };
}

async function settled(count: () => Promise<number>): Promise<void> {
  let before = -1;
  for (let now = await count(); now !== before; now = await count()) {
    before = now;
    await new Promise((resolve) => setTimeout(resolve, 100));
  }
}

export const serialReplugged: Fault = {
  name: 'serial',
  title:
    'a serial probe unplugged in the middle of a line and plugged in again as another terminal, by its lasting name',
  amount: { of: 'times', short: 4, long: 40 },
  needs: ['socat', 'mosquitto'],
  async run(scene, times) {
    const dir = scene.folder();
    const cable = cableIn(dir);
    scene.atEnd(cable.stop);
    let probeEnd = await cable.plug();
    const broker = await startMosquitto();
    scene.atEnd(broker.stop);
    const hub = await startHubProcess(
      dir,
      roomText(dir, {
        ...promptRules,
        mqtt: { url: `mqtt://127.0.0.1:${broker.port}` },
        serial: [{ id: 'bench', path: cable.name, baud: 115_200, format: 'key_value' }],
        probes: [{ id: 't', system: 'display', metric: 'temperature', serial: { port: 'bench', channel: 't' } }],
      }),
    );
    scene.atEnd(() => hub.end('SIGKILL'));
    const watch = watchHealth(scene, () => hub.url, await startPhone(scene, broker.port));
    const readings = () => edgeCount(hub.url, 'serial:bench', 'readings');
    const written: string[] = [];
    const terminals = new Set<string>();
    const recoveryMs: number[] = [];
    let n = 0;
    let caused = 0;
    // Keeps the numbers of the terminals that were pulled from being given again.
    const holders: ServerProcess[] = [];
    scene.atEnd(() => Promise.all(holders.map((holder) => holder.end('SIGKILL'))));

    for (let time = 0; time <= times; time += 1) {
      const fd = openSync(probeEnd, 'w');
      terminals.add(cable.terminal());
      // The first lines after opening are how the hub finds the beginning of a line: they say what was said before.
      const heardBefore = await readings();
      const startMs = performance.now();
      await timeUntil('the hub hears the probe', async () => {
        writeSync(fd, 't=26.4999\n');
        await new Promise((resolve) => setTimeout(resolve, 20));
        return (await readings()) > heardBefore;
      });
      if (time > 0) recoveryMs.push(performance.now() - startMs);
      await settled(readings);
      const before = await readings();
      // Twice: what comes and goes more often for one cause is one alarm.
      if (time === 1 || time === 3) watch.mustTell(`what was said after replug ${time}`, /above the band/);
      for (let line = 0; line < linesEachTime; line += 1) {
        n += 1;
        // Out of its band after each other replug: what a probe says on its new terminal is judged and told.
        const value = ((time % 2 === 0 ? 25 : 26.6) + n / 10_000).toFixed(4);
        written.push(value);
        writeSync(fd, `t=${value}\n`);
        await new Promise((resolve) => setTimeout(resolve, 5));
      }
      await waitUntil('the last line is read', async () => (await readings()) >= before + linesEachTime, {
        explain: hub.log,
      });
      if (time === times) {
        closeSync(fd);
        break;
      }
      writeSync(fd, 't=2');
      await cable.unplug();
      closeSync(fd);
      caused += 1;
      const holder = startProcess('socat', ['pty,raw', 'pty,raw']);
      holders.push(holder);
      await new Promise((resolve) => setTimeout(resolve, 100));
      probeEnd = await cable.plug();
    }
    const told = await toldRows(watch, 'serial unplugged', 2);
    await hub.end('SIGTERM');
    const stored = readStore(storePathIn(dir), dir, (store) =>
      store.readings(series, 0, Number.MAX_SAFE_INTEGER).map(({ value }) => value.toFixed(4)),
    ).filter((value) => value !== '26.4999');
    const torn = missingOf(stored, written);
    return [
      {
        ...{ of: 'readings of whole lines', caused, stake: written.length },
        lost: missingOf(written, stored).length,
        doubled: doubledIn(stored),
        recoveryMs,
        broken: [
          ...(torn.length === 0 ? [] : [`torn lines became readings: ${torn.slice(0, 5).join(' ')}`]),
          ...(terminals.size > 1 ? [] : ['it was always the same terminal']),
        ],
        remark: `${terminals.size} terminals under one name; what a probe says while it is unplugged is not at stake`,
      },
      ...told,
    ];
  },
};
