import { rmSync } from 'node:fs';
import { join } from 'node:path';
import { expect, onTestFinished, test } from 'vitest';
import { configOf, getJson, postJson, roomText, scratchRoom, startHubHere } from '../../servers/hub-process.ts';
import { waitUntil } from '../../servers/server-process.ts';

type Alarm = { id: string; priority: string; message: string; isStanding: boolean };
type Health = { status: string; ready: boolean; causes: { part: string; cause: string }[] };

test('the files of the record are deleted under the hub, and it says nothing or loses them', async () => {
  const { dir, remove } = scratchRoom();
  onTestFinished(remove);
  const text = roomText(dir, { backups: { enabled: false } });
  const entered = { system: 'display', analyte: 'alkalinity', value: 8 };
  const hub = await startHubHere(configOf(text));
  try {
    expect((await postJson(`${hub.url}/api/tests`, entered)).status).toBe(201);
    for (const suffix of ['', '-wal', '-unflushed']) {
      rmSync(join(dir, 'data', `brinekeep.db${suffix}`), { force: true });
    }
    const health = async () => (await (await fetch(`${hub.url}/health`)).json()) as Health;
    await waitUntil('it is said', async () => (await health()).causes.some(({ part }) => part === 'store'));
    expect(await health()).toMatchObject({ status: 'degraded', ready: false });
    const alarms = await getJson<Alarm[]>(`${hub.url}/api/alarms`);
    expect(alarms.find(({ id }) => id === 'room/edges/edge_fault/store/files')).toMatchObject({
      ...{ priority: 'high', message: expect.stringMatching(/deleted.*Restart the hub now/) },
    });
    const answer = await postJson(`${hub.url}/api/tests`, { ...entered, value: 8.1 });
    expect([answer.status, await answer.text()]).toEqual([507, expect.stringMatching(/Restart the hub now/)]);
  } finally {
    await hub.stop();
  }
  const again = await startHubHere(configOf(text));
  try {
    expect(again.store.journal({ kind: 'test' }).map(({ body }) => body['value'])).toEqual([8]);
    await waitUntil(
      'the alarm is over',
      async () => {
        const alarms = await getJson<Alarm[]>(`${again.url}/api/alarms`);
        return !alarms.some(({ id, isStanding }) => id.endsWith('store/files') && isStanding);
      },
      { withinMs: 60_000 },
    );
    expect((await postJson(`${again.url}/api/tests`, entered)).status).toBe(201);
  } finally {
    await again.stop();
  }
});
