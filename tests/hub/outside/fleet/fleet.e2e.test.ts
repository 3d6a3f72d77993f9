import { afterAll, beforeAll, describe, expect, test, vi } from 'vitest';
import type { HubDetail, HubTile } from '#hub/api/fleet.ts';
import type { Hub } from '#hub/room/hub.ts';
import { isMissing } from '../../../machine/parts.mjs';
import { configOf, getJson, roomText, scratchRoom, startHubHere } from '../../../servers/hub-process.ts';
import { mosquittoPub } from '../../../servers/mosquitto.ts';
import { patience, waitUntil } from '../../../servers/server-process.ts';
import { ask, problemIn } from '../../http/ask.ts';
import { type Farm, startFarm, startWatcher, writeDay } from './farm.ts';
import { farmBlocks } from './simulated-hub.ts';

// Slow on a loaded machine, and no time is asserted.
vi.setConfig({ testTimeout: 120_000 * patience(), hookTimeout: 120_000 * patience() });

type Fleet = { configured: boolean; link: { isUp: boolean }; counts: Record<string, number>; hubs: HubTile[] };
type History = { stepMs: number; curves: { probe: string; points: { time: number; min: number; max: number }[] }[] };

describe.skipIf(isMissing('mosquitto') || isMissing('influxd'))('a farm of hubs on one broker and one database', () => {
  const [office, real] = [scratchRoom(), scratchRoom()];
  let farm: Farm;
  let watcher: Hub;
  let other: Hub;

  const fleet = () => getJson<Fleet>(`${watcher.url}/api/fleet`);
  const tileOf = async (hub: string) => (await fleet()).hubs.find((tile) => tile.hub === hub);
  const historyAt = (hub: string) => {
    const span = `from=${new Date(Date.now() - 86_400_000).toISOString()}&to=${new Date().toISOString()}`;
    return `/api/fleet/${encodeURIComponent(hub)}/history?system=broodstock&metric=temperature&${span}&points=100`;
  };

  beforeAll(async () => {
    farm = await startFarm(5, true);
    other = await startHubHere(
      configOf(roomText(real.dir, farmBlocks('Greenhouse (invented)', 'farm/real', farm.url))),
    );
    watcher = await startWatcher(farm, office.dir);
  });
  afterAll(async () => {
    await watcher?.stop();
    await other?.stop();
    await farm?.stop();
    office.remove();
    real.remove();
  });

  test('a hub of the farm is not on the wall, or a simulated one can be told from a real one', async () => {
    await waitUntil('the real hub listens', async () => (await getJson<Fleet>(`${other.url}/api/fleet`)).link.isUp);
    await mosquittoPub(farm.broker.port, 'probes/farm/real/broodstock/temperature', '25.61');
    await waitUntil('all are there', async () => {
      const { hubs } = await fleet();
      const wanted = (hub: string) => (/hub-0/.test(hub) ? 12 : hub === 'farm/real' ? 1 : 0);
      return hubs.length === 7 && hubs.every(({ hub, values }) => values.inside >= wanted(hub));
    });
    const { hubs, counts } = await fleet();
    expect(
      hubs
        .filter(({ hub }) => /hub-0/.test(hub))
        .map(({ name, state, systems, values }) => [name, state, systems, values.inside]),
    ).toEqual([1, 2, 3, 4, 5].map((number) => [`Hall 0${number} (invented)`, 'calm', 3, 12]));
    expect(hubs.find(({ isSelf }) => isSelf)?.hub).toBe('farm/office');
    expect(counts['unreadable']).toBe(0);
    const detail = await getJson<HubDetail>(`${watcher.url}/api/fleet/farm%2Freal`);
    expect(detail.details.find(({ id }) => id === 'broodstock')?.metrics).toMatchObject([
      { metric: 'temperature', value: 25.61, band: { low: 25, high: 26.5 }, state: 'inside' },
    ]);
    // Nothing of it is a reading of the hub that shows it.
    expect(watcher.store.series()).toEqual([]);
  });

  test('a power cut over there, or an alarm, is not said here', async () => {
    farm.hubs[1]?.cut();
    await farm.hubs[2]?.raise('broodstock', 'temperature', 'high', 'Temperature is 28.10 °C, above its band');
    farm.hubs[3]?.lead('ph', 8.9);
    await farm.hubs[3]?.tick();
    await waitUntil('all three show', async () => {
      const states = (await fleet()).hubs.slice(0, 3).map(({ hub, state }) => `${hub} ${state}`);
      return states.join() === 'farm/hub-02 offline,farm/hub-03 alarm,farm/hub-04 outside';
    });
    expect((await tileOf('farm/hub-03'))?.first?.message).toBe('Temperature is 28.10 °C, above its band');
  });

  test('a spike of another hub is hidden in its day, or comes from the hub beside it', async () => {
    if (farm.database === undefined) throw new Error('no database');
    await writeDay(farm.database, 'farm/hub-01', 1, 31.25);
    const history = await getJson<History>(`${watcher.url}${historyAt('farm/hub-01')}`);
    const [curve] = history.curves;
    expect(curve?.probe).toBe('broodstock-temperature');
    expect(curve?.points.length).toBeGreaterThan(90);
    expect(Math.max(...(curve?.points ?? []).map(({ max }) => max))).toBe(31.25);
    const beside = await getJson<History>(`${watcher.url}${historyAt('farm/hub-05')}`);
    expect(Math.max(...beside.curves.flatMap(({ points }) => points.map(({ max }) => max)))).toBeLessThan(27);
  });

  test('no database, or one that is away, is an empty curve', async () => {
    problemIn(await ask(watcher.url, historyAt('farm/nobody')), 404);
    await farm.database?.pause();
    const away = problemIn(await ask(watcher.url, historyAt('farm/hub-01')), 504);
    expect(away.title).toBe('The time-series database does not answer');
    const none = problemIn(await ask(other.url, historyAt('farm/hub-01')), 404);
    expect(none.title).toBe('No such hub');
    expect(await getJson<Fleet>(`${other.url}/api/fleet`)).toMatchObject({ configured: false, hubs: [] });
  });

  test('the wall looks calm while its own hub hears nobody', async () => {
    await farm.broker.kill();
    await waitUntil('the link is known to be down', async () => !(await fleet()).link.isUp);
  });
});
