import { readdirSync } from 'node:fs';
import { join } from 'node:path';
import { afterEach, beforeEach, expect, test, vi } from 'vitest';
import { hubAdaptersOn } from '#hub/compose.ts';
import type { Hub } from '#hub/room/hub.ts';
import { createManualClock } from '../../adapters/clock/manual-clock.ts';
import { dyingAfter, dyingAt } from '../../faults/dying-store.ts';
import { configOf, getJson, postJson, roomText, scratchRoom, startHubHere } from '../../servers/hub-process.ts';
import { patience, waitUntil } from '../../servers/server-process.ts';

/** A death between two changes that belong together: `hub/room/between-stores.md` says what it leaves. */

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

const config = () => configOf(roomText(scratch.dir));
async function startAgain(...changed: Parameters<typeof startHubHere> extends [unknown, ...infer Rest] ? Rest : never) {
  await hub?.stop();
  hub = undefined;
  hub = await startHubHere(config(), ...changed);
  return hub;
}

test('a water change that was on disk when the process died is never taken from its batch, or twice', async () => {
  hub = await startHubHere(config(), dyingAfter('water_change'));
  const made = { system: 'display', litres: 100, salt: 'blue bag', salt_g: 3825, key: 'made' };
  const { id: batch } = (await (await postJson(`${hub.url}/api/batches`, made)).json()) as { id: string };
  const done = { system: 'display', batch, volume_l: 40, key: 'sunday' };
  const send = async (more = {}) => postJson(`${hub?.url}/api/water-changes/done`, { ...done, ...more });
  const left = async () => {
    const batches = await getJson<{ id: string; left_l: number }[]>(`${hub?.url}/api/batches`);
    return batches.find(({ id }) => id === batch)?.left_l;
  };
  await postJson(`${hub.url}/api/batches/${batch}/water`, { salinity: 35 });
  expect((await send()).status).toBe(507);
  await startAgain();
  // Nobody has said it again yet.
  expect(await left()).toBe(100);
  expect((await send()).status).toBe(201);
  expect(await left()).toBe(60);
  expect((await send()).status).toBe(201);
  expect(await left()).toBe(60);
  expect(hub.store.journal({ kind: 'water_change' })).toHaveLength(1);
  // The answer to the last of a batch is lost on its way: said again it is no second change, and nothing is left to take.
  const last = { volume_l: 60, key: 'monday' };
  const first = await send(last);
  expect([first.status, await left()]).toEqual([201, 0]);
  const again = await send(last);
  expect([again.status, await again.json()]).toMatchObject([201, { id: ((await first.json()) as { id: number }).id }]);
  expect(await left()).toBe(0);
});

test('a reminder that was in the notices when the process died is lost, or comes as another one', async () => {
  const clock = createManualClock(Date.parse('2026-03-02T08:00:00Z'));
  const adapters = hubAdaptersOn(clock);
  const keys: string[] = [];
  const heard = (isDying: boolean) =>
    dyingAt(({ outbox = [] }) => {
      const own = outbox.filter(({ payload }) => payload.includes('test alkalinity today'));
      keys.push(...own.map(({ key }) => key));
      return isDying && own.length > 0 ? 'after' : undefined;
    }, adapters);
  hub = await startHubHere(config(), { ...adapters, ...heard(true) });
  await postJson(`${hub.url}/api/arrivals`, { system: 'display', name: 'Frags', arrived: '2026-03-02T07:00:00Z' });
  const nine = async (count: number) =>
    waitUntil('it is said', async () => {
      clock.advance(60_000);
      await new Promise((resolve) => setTimeout(resolve, 20));
      return keys.length >= count && clock.nowMs() > Date.parse('2026-03-02T09:05:00Z');
    });
  await nine(1);
  const before = new Set(keys);
  await startAgain({ ...adapters, ...heard(false) });
  await nine(keys.length + 1);
  expect(new Set(keys)).toEqual(before);
  const said = keys.length;
  for (let minute = 0; minute < 20; minute += 1) {
    clock.advance(60_000);
    await new Promise((resolve) => setTimeout(resolve, 20));
  }
  expect(keys).toHaveLength(said);
});

test('a piece names a photo that is not there, since the process died between file and entry', async () => {
  const png = Buffer.concat([Buffer.from([0x89, 0x50, 0x4e, 0x47, 0x0d, 0x0a, 0x1a, 0x0a]), Buffer.alloc(92)]);
  hub = await startHubHere(
    config(),
    dyingAt(({ entries = [] }) => (entries.some(({ body }) => body['event'] === 'photo') ? 'before' : undefined)),
  );
  await postJson(`${hub.url}/api/pieces`, { system: 'display', kind: 'Acropora' });
  const send = () =>
    fetch(`${hub?.url}/api/pieces/p1/photos`, { method: 'POST', body: png, headers: { 'content-type': 'image/png' } });
  const photos = async () => (await getJson<{ photos: string[] }>(`${hub?.url}/api/pieces/p1`)).photos;
  expect((await send()).status).toBe(507);
  await startAgain();
  expect(readdirSync(join(scratch.dir, 'data', 'photos'))).toEqual(['p1-1.png']);
  expect(await photos()).toEqual([]);
  // Sent again it has a name of its own, and what the piece names can be seen.
  expect((await send()).status).toBe(201);
  expect(await photos()).toEqual(['p1-2.png']);
  expect((await fetch(`${hub.url}/api/photos/p1-2.png`)).status).toBe(200);
});
