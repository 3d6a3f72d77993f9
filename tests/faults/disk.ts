import { rmSync } from 'node:fs';
import { join } from 'node:path';
import { getJson, postJson, roomText, startHubProcess } from '../servers/hub-process.ts';
import { startMosquitto } from '../servers/mosquitto.ts';
import { waitUntil } from '../servers/server-process.ts';
import type { Fault } from './fault.ts';
import { watchHealth } from './health-watch.ts';
import { atPace, startPhone, startProbeLine, timeUntil } from './people.ts';
import { promptRules } from './rooms.ts';
import { fillUp, mountSmallDisk } from './spoiled.ts';
import { damageOf, doubledIn, missingOf, readStore } from './stored.ts';

export const diskFull: Fault = {
  name: 'disk',
  title: 'the disk full (a real small one), while probes speak, a keeper enters and alarms are raised; then room again',
  amount: { of: 'times', short: 1, long: 10 },
  needs: ['mosquitto'],
  isForRoot: true,
  async run(scene, times) {
    const dir = scene.folder();
    const disk = join(dir, 'disk');
    // One for each time: an alarm that comes and goes every few seconds would soon be held as chattering.
    const frags = Array.from({ length: times }, (_, time) => `frag${time}`);
    scene.atEnd(mountSmallDisk(disk));
    const broker = await startMosquitto();
    scene.atEnd(broker.stop);
    const hub = await startHubProcess(
      dir,
      roomText(dir, {
        ...promptRules,
        data_dir: disk,
        backups: { enabled: false },
        mqtt: { url: `mqtt://127.0.0.1:${broker.port}` },
        systems: ['display', ...frags].map((id) => {
          return { id, name: `Tank ${id}`, volume_l: 400, bands: { temperature: { low: 25, high: 26.5 } } };
        }),
        probes: ['t', ...frags].map((id) => {
          const at = { topic: `tank/${id}`, format: 'json', channel: 't', time_path: 'at' };
          return { id, system: id === 't' ? 'display' : id, metric: 'temperature', mqtt: at };
        }),
      }),
    );
    scene.atEnd(() => hub.end('SIGKILL'));
    // What is said to a broker before the hub has subscribed for the first time nobody keeps.
    type Linked = { edges: { name: string; up: boolean }[] };
    await waitUntil('the hub hears the broker', async () =>
      (await getJson<Linked>(`${hub.url}/health`)).edges.some(({ name, up }) => name === 'mqtt' && up),
    );
    const phone = await startPhone(scene, broker.port);
    const watch = watchHealth(scene, () => hub.url, phone);
    const line = await startProbeLine(scene, broker.port);
    const sent = new Set<string>();
    let [frag, water] = [frags[0]!, 26.3];
    const probes = atPace(scene, 20, (n) => {
      let at = Date.now();
      while (sent.has(String(at))) at += 1;
      sent.add(String(at));
      line.publish('tank/t', JSON.stringify({ at, t: 25.2 + (n % 100) / 1000 }), { qos: 1 });
      line.publish(`tank/${frag}`, JSON.stringify({ at, t: water }), { qos: 1 });
    });
    const confirmed: string[] = [];
    const refused: string[] = [];
    const broken: string[] = [];
    let n = 0;
    async function enter(): Promise<number> {
      n += 1;
      const answer = await postJson(`${hub.url}/api/tests`, {
        ...{ system: 'display', analyte: 'alkalinity', value: 8, confirmed: true, key: `${n}` },
        note: 'x'.repeat(500),
      });
      if (answer.status === 201) confirmed.push(`test:${n}`);
      else refused.push(`test:${n}`);
      const type = answer.headers.get('content-type') ?? '';
      if (answer.status !== 201 && !(answer.status === 507 && type.startsWith('application/problem+json'))) {
        broken.push(`a test was answered ${answer.status} ${await answer.text()}`);
      }
      return answer.status;
    }
    const recoveryMs: number[] = [];
    let toldWhileFull = 0;
    let caused = 0;
    for (let time = 0; time < times; time += 1) {
      await waitUntil('a test is taken', async () => (await enter()) === 201);
      const ballast = join(disk, 'ballast');
      fillUp(ballast);
      await waitUntil('a test is refused', async () => (await enter()) === 507, { explain: hub.log });
      caused += 1;
      [frag, water] = [frags[time]!, 26.7];
      const before = phone.lines().length;
      await waitUntil('the phone is told all the same', () => phone.lines().length > before, { explain: hub.log }).then(
        () => (toldWhileFull += 1),
        (error: unknown) => broken.push(String(error).slice(0, 300)),
      );
      await new Promise((resolve) => setTimeout(resolve, 1_000));
      rmSync(ballast);
      recoveryMs.push(await timeUntil('a test is taken again', async () => (await enter()) === 201));
      water = 26.3;
      await new Promise((resolve) => setTimeout(resolve, 1_000));
    }
    probes.stop();
    // What is still on its way the broker keeps for the next start, and it would be counted as lost.
    type Heard = { readings: { accepted: number } };
    const heard = async () => (await getJson<Heard>(`${hub.url}/health`)).readings.accepted;
    await waitUntil('all that was sent is heard', async () => (await heard()) >= 2 * sent.size).catch(
      (error: unknown) => broken.push(String(error).slice(0, 300)),
    );
    const answers = await watch.row('disk full');
    await hub.end('SIGTERM');
    const storePath = join(disk, 'brinekeep.db');
    broken.push(...(await damageOf(storePath, dir)));
    const found = readStore(storePath, dir, (store) => ({
      tests: store.journal({ kind: 'test' }).map(({ key }) => key ?? ''),
      raised: store
        .journal({ kind: 'alarm', history: true })
        .filter(({ body, system }) => system !== 'display' && body['state'] === 'raised').length,
      times: store
        .readings({ system: 'display', metric: 'temperature', probe: 't' }, 0, Number.MAX_SAFE_INTEGER)
        .map(({ timeMs }) => String(timeMs)),
    }));
    const kept = found.tests.filter((key) => refused.includes(key)).length;
    return [
      {
        ...{
          of: 'tests answered 201',
          caused,
          stake: confirmed.length,
          lost: missingOf(confirmed, found.tests).length,
        },
        doubled: doubledIn(found.tests),
        recoveryMs,
        broken: [...broken, ...(kept === 0 ? [] : [`${kept} tests are stored that were refused`])],
        remark: `${refused.length} were refused with 507`,
      },
      {
        ...{ of: 'alarms raised while it was full', caused, stake: caused, lost: caused - toldWhileFull, doubled: 0 },
        recoveryMs: [],
        broken: found.raised >= caused ? [] : [`${found.raised} of ${caused} are in the journal afterwards`],
      },
      {
        ...{ of: 'readings', caused, stake: sent.size, lost: missingOf(sent, found.times).length },
        doubled: doubledIn(found.times),
        recoveryMs: [],
        remark: 'held in memory while the disk was full (100,000 at most)',
      },
      answers,
    ];
  },
};
