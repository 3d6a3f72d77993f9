import { afterEach, beforeEach, expect, test, vi } from 'vitest';
import { adaptersForVerbs } from '#hub/compose.ts';
import { createRulesMemory } from '#hub/judgement/watch/rules-memory.ts';
import type { Hub } from '#hub/room/hub.ts';
import type { StandingAlarm } from '#rules/bands/room.ts';
import { dyingAfter } from '../../../faults/dying-store.ts';
import { configOf, getJson, postJson, roomText, scratchRoom, startHubHere } from '../../../servers/hub-process.ts';
import { patience, waitUntil } from '../../../servers/server-process.ts';

vi.setConfig({ testTimeout: 60_000 * patience() });

let scratch: ReturnType<typeof scratchRoom>;
let hub: Hub | undefined;
beforeEach(() => {
  scratch = scratchRoom();
});
afterEach(async () => {
  await hub?.stop();
  hub = undefined;
  scratch.remove();
});

const highTest = { system: 'display', analyte: 'alkalinity', value: 12, confirmed: true, key: 'evening' };
const alarmId = 'display/alkalinity/out_of_band/high/test';
const standing = async () => (await getJson<StandingAlarm[]>(`${hub?.url}/api/alarms`)).map(({ id }) => id);

test('a test that was on disk when the process died is never judged: its alarm never comes', async () => {
  const config = configOf(roomText(scratch.dir));
  hub = await startHubHere(config, dyingAfter('test'));
  expect((await postJson(`${hub.url}/api/tests`, highTest)).status).toBe(507);
  expect(await standing()).toEqual([]);
  await hub.stop();

  hub = await startHubHere(config);
  await waitUntil('the alarm is there', async () => (await standing()).includes(alarmId));
  // The phone that got no answer sends it again: it is the same entry, and one alarm.
  expect((await postJson(`${hub.url}/api/tests`, highTest)).status).toBe(201);
  expect(await getJson<unknown[]>(`${hub.url}/api/entries?kind=test`)).toHaveLength(1);
  const { url } = hub;
  const raised = async () =>
    (await getJson<{ body: { alarm: string; state: string } }[]>(`${url}/api/entries?kind=alarm`)).filter(
      ({ body }) => body.alarm === alarmId && body.state === 'raised',
    );
  expect(await raised()).toHaveLength(1);
});

test('a test that was taken back as the process died still stands in its alarm', async () => {
  const config = configOf(roomText(scratch.dir));
  hub = await startHubHere(config);
  const good = { ...highTest, value: 8.2, key: 'morning', time: new Date(Date.now() - 3_600_000).toISOString() };
  expect((await postJson(`${hub.url}/api/tests`, good)).status).toBe(201);
  expect((await postJson(`${hub.url}/api/tests`, highTest)).status).toBe(201);
  expect(await standing()).toContain(alarmId);
  const [typed] = hub.store.journal({ kind: 'test', order: 'newest' });
  await hub.stop();

  hub = await startHubHere(config, dyingAfter('test'));
  expect(() => hub?.entries.withdraw(typed?.id ?? 0, 'Ana', Date.now())).toThrow('the process is gone');
  await hub.stop();
  hub = await startHubHere(config);
  const { url } = hub;
  await waitUntil('the alarm has ended', async () => {
    const alarms = await getJson<StandingAlarm[]>(`${url}/api/alarms`);
    return alarms.every(({ id, isStanding }) => id !== alarmId || !isStanding);
  });
});

test('a calibration that was on disk when the process died is overdue for the rules', async () => {
  const probe = { id: 'ph', system: 'display', metric: 'ph', mqtt: { topic: 'tank/ph' } };
  const config = configOf(roomText(scratch.dir, { probes: [probe] }));
  hub = await startHubHere(config, dyingAfter('calibration'));
  const calibration = { kind: 'linear', probe: 'ph', slope: 1, offset: 0.02, by: 'Ana', why: 'invented' };
  expect((await postJson(`${hub.url}/api/calibrations`, calibration)).status).toBe(507);
  await hub.stop();
  hub = await startHubHere(config);
  expect(createRulesMemory(hub.store).restored().calibrations).toMatchObject([{ probe: 'ph' }]);
});

test('an entry that a fault of ours kept from the rules waits for the next start', async () => {
  let isBroken = true;
  hub = await startHubHere(configOf(roomText(scratch.dir)), {
    openStore(choice) {
      const real = adaptersForVerbs.hub.openStore(choice);
      return {
        ...real,
        journal(query) {
          if (isBroken && query.afterId !== undefined) throw new Error('a fault of ours');
          return real.journal(query);
        },
      };
    },
  });
  expect((await postJson(`${hub.url}/api/tests`, highTest)).status).toBe(201);
  expect(await standing()).not.toContain(alarmId);
  isBroken = false;
  await waitUntil('the alarm comes all the same', async () => (await standing()).includes(alarmId), {
    withinMs: 20_000,
  });
});
