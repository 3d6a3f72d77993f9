import { join } from 'node:path';
import { lockRoom, passphrase } from '../hub/outside/access/locked-room.ts';
import { type HubProcess, roomText, startHubProcess } from '../servers/hub-process.ts';
import { startMosquitto } from '../servers/mosquitto.ts';
import { waitUntil } from '../servers/server-process.ts';
import type { Row } from './fault.ts';
import { watchHealth } from './health-watch.ts';
import { atPace, startPhone, startProbeLine } from './people.ts';
import { promptRules } from './rooms.ts';
import type { Scene } from './scene.ts';
import { zeroHead } from './spoiled.ts';

type DoorFile = { name: string; opensFor: 'nobody' | 'passphrase'; says: RegExp };

const doorFiles: readonly DoorFile[] = [
  { name: 'access.json', opensFor: 'nobody', says: /access\.json is damaged\. Restore it, or move it away/ },
  { name: 'sessions.json', opensFor: 'passphrase', says: /sign-ins cannot be read/ },
];

/**
 * A hub is killed, the head of a file by which it lets people in is zeroed, and it is started again: it watches, it says so, and
 * nobody comes in who has not said the passphrase since.
 */
export async function doorFilesZeroed(scene: Scene): Promise<Row[]> {
  const rows: Row[] = [];
  for (const file of doorFiles) rows.push(...(await oneFile(scene, file)));
  return rows;
}

async function oneFile(scene: Scene, { name, opensFor, says }: DoorFile): Promise<Row[]> {
  const dir = scene.folder();
  const broker = await startMosquitto();
  scene.atEnd(broker.stop);
  const text = roomText(dir, {
    ...promptRules,
    ...{ backups: { enabled: false }, mqtt: { url: `mqtt://127.0.0.1:${broker.port}` } },
    probes: [{ id: 't', system: 'display', metric: 'temperature', mqtt: { topic: 'tank/t' } }],
  });
  await lockRoom(dir);
  const before = await startHubProcess(dir, text);
  scene.atEnd(() => before.end('SIGKILL'));
  const cookie = (await signIn(before)).headers.getSetCookie()[0]?.split(';')[0] ?? '';
  const broken: string[] = [];
  if ((await look(before, cookie)) !== 200) broken.push('who is signed in does not come in');
  await before.end('SIGKILL');
  zeroHead(join(dir, 'data', name));

  const hub = await startHubProcess(dir, text);
  scene.atEnd(() => hub.end('SIGKILL'));
  const phone = await startPhone(scene, broker.port);
  const watch = watchHealth(scene, () => hub.url, phone);
  watch.mustTell('the overheated tank', /above the band/);
  const line = await startProbeLine(scene, broker.port);
  const probe = atPace(scene, 2, () => line.publish('tank/t', '27.4'));
  await waitUntil('the phone is told', () => watch.untold().length === 0).catch(() => broken.push('never told'));
  probe.stop();
  // With nothing, with the cookie of before, with another passphrase, with what a zeroed file might stand for.
  const keys = ['', cookie, 'brinekeep=', `${cookie.split('=')[0]}=${'\0'.repeat(8)}`.replaceAll('\0', '%00')];
  for (const key of keys) {
    const status = await look(hub, key);
    if (status !== 401) broken.push(`without a passphrase the hub answers ${status}`);
  }
  for (const wrong of ['', ' ', 'another one']) {
    const { status } = await signIn(hub, wrong);
    if (status < 400) broken.push(`signed in with "${wrong}"`);
  }
  const right = await signIn(hub);
  const now = right.headers.getSetCookie()[0]?.split(';')[0] ?? '';
  const comesIn = right.ok && (await look(hub, now)) === 200;
  if (comesIn !== (opensFor === 'passphrase')) broken.push(`the passphrase is answered ${right.status}`);
  if (!says.test(hub.log())) broken.push('its log does not say so');
  const { status } = (await (await fetch(`${hub.url}/health`)).json()) as { status: string };
  if (opensFor === 'nobody' && status === 'ok') broken.push('health says ok while nobody can sign in');
  await watch.hasAnswered();
  const answers = await watch.row(`the head of ${name} zeros`);
  await hub.end('SIGTERM');
  return [
    {
      ...{ of: `ways in, the head of ${name} zeros`, caused: 1, stake: keys.length, lost: 0, doubled: 0 },
      ...{ recoveryMs: [], broken },
    },
    answers,
  ];
}

function signIn(hub: HubProcess, words = passphrase): Promise<Response> {
  return fetch(`${hub.url}/api/session`, {
    method: 'POST',
    headers: { 'content-type': 'application/json' },
    body: JSON.stringify({ passphrase: words }),
  });
}

async function look(hub: HubProcess, cookie: string): Promise<number> {
  return (await fetch(`${hub.url}/api/room`, { headers: { cookie } })).status;
}
