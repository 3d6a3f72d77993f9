import mqtt, { type MqttClient } from 'mqtt';
import { freePort } from '../servers/free-port.ts';
import { roomText, startHubProcess } from '../servers/hub-process.ts';
import { waitUntil } from '../servers/server-process.ts';
import type { Fault } from './fault.ts';
import { watchHealth } from './health-watch.ts';
import { ask, atPace, startPhone, timeUntil } from './people.ts';
import { promptRules, storePathIn } from './rooms.ts';
import { readStore } from './stored.ts';

const env = { BOARD: 'tide pool 17', WILD: 'sand bed 31', ANA: 'sea fan 23' };
const greed = 1.5;

type Health = { status: string; causes: { part: string; cause: string }[] };

/** Another board asks for more places than there are, each with a session that lasts; the others must still get in. */
export const oneAccount: Fault = {
  name: 'places',
  title: 'one account asks for half as many places again as the broker inside has, each with a lasting session',
  amount: { of: 'places', short: 40, long: 200 },
  needs: [],
  async run(scene, places) {
    const dir = scene.folder();
    const port = await freePort();
    const user = (name: string, role: string, password_env: string) => ({ name, role, password_env });
    const hub = await startHubProcess(
      dir,
      roomText(dir, {
        ...promptRules,
        backups: { enabled: false },
        broker: {
          ...{ port, host: '127.0.0.1', most_clients: places },
          users: [user('board', 'probe', 'BOARD'), user('wild', 'probe', 'WILD'), user('ana', 'phone', 'ANA')],
        },
        probes: [{ id: 't', system: 'display', metric: 'temperature', mqtt: { topic: 'tank/t' } }],
      }),
      env,
    );
    scene.atEnd(() => hub.end('SIGKILL'));
    const wild: MqttClient[] = [];
    scene.atEnd(() => Promise.all(wild.map((client) => client.endAsync(true))));
    for (let n = 0; n < places * greed; n += 1) {
      const client = mqtt.connect(`mqtt://127.0.0.1:${port}`, {
        ...{ clientId: `wild-${n}`, username: 'wild', password: env.WILD, clean: false, reconnectPeriod: 1000 },
      });
      client.on('error', () => {});
      wild.push(client);
    }
    const inNow = () => wild.filter(({ connected }) => connected).length;
    let before = -1;
    await waitUntil('it has what it gets', async () => {
      await new Promise((resolve) => setTimeout(resolve, 2_000));
      const isStill = inNow() > 0 && inNow() === before;
      before = inNow();
      return isStill;
    });
    const taken = inNow();
    // Now come those whom the room needs.
    const phone = await startPhone(scene, port, { username: 'ana', password: env.ANA, reconnectPeriod: 1000 });
    const watch = watchHealth(scene, () => hub.url, phone);
    const board = await mqtt.connectAsync(`mqtt://127.0.0.1:${port}`, { username: 'board', password: env.BOARD });
    scene.atEnd(() => board.endAsync(true));
    watch.mustTell('the overheated tank', /above the band/);
    let sent = 0;
    const probe = atPace(scene, 5, () => {
      sent += 1;
      board.publish('tank/t', (27.4 + (sent % 50) / 1000).toFixed(3), { qos: 1 });
    });
    const toldMs = await timeUntil('the phone is told', () => watch.untold().length === 0).catch(() => undefined);
    await waitUntil('it has spoken for a while', () => sent >= 50);
    probe.stop();
    await board.endAsync();
    const { causes } = await ask<Health>(`${hub.url}/health`);
    const answers = await watch.row('all places wanted by one');
    await hub.end('SIGTERM');
    const stored = readStore(storePathIn(dir), dir, (store) =>
      store.readings({ system: 'display', metric: 'temperature', probe: 't' }, 0, Number.MAX_SAFE_INTEGER),
    ).length;
    return [
      {
        ...{ of: 'readings of the other account’s probe', caused: wild.length > taken ? 1 : 0, stake: sent },
        ...{ lost: Math.max(0, sent - stored), doubled: 0, recoveryMs: toldMs === undefined ? [] : [toldMs] },
        broken: [
          ...(toldMs === undefined ? ['its alarm was never told'] : []),
          ...(causes.some(({ part }) => part === 'edge broker') ? [] : ['health does not tell of the refused places']),
        ],
        remark: `${taken} of ${places} places went to the one account, which asked for ${wild.length}; health: ${JSON.stringify(causes).slice(0, 200)}`,
      },
      answers,
    ];
  },
};
