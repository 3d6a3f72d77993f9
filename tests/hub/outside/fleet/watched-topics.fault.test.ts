import mqtt from 'mqtt';
import { describe, expect, onTestFinished, test, vi } from 'vitest';
import { systemClock } from '#adapters/clock/system-clock.ts';
import { createMqttEdge } from '#adapters/mqtt/mqtt-edge.ts';
import type { MessageLink } from '#adapters/ports/edge.ts';
import type { WatchedTopics } from '#adapters/ports/hub-adapters.ts';
import { formerFilters } from '#hub/outside/fleet/former-filters.ts';
import { isMissing } from '../../../machine/parts.mjs';
import { startMosquitto } from '../../../servers/mosquitto.ts';
import { patience, waitUntil } from '../../../servers/server-process.ts';

// Slow on a loaded machine, and no time is asserted.
vi.setConfig({ testTimeout: 120_000 * patience(), hookTimeout: 120_000 * patience() });

describe.skipIf(isMissing('mosquitto'))('a hub that shows a fleet and was away', () => {
  test('what the fleet said meanwhile takes the place of its own commands, or a former fleet is heard for good', async () => {
    const broker = await startMosquitto();
    onTestFinished(() => broker.stop());
    const url = `mqtt://127.0.0.1:${broker.port}`;
    const commands: string[] = [];
    let seen: string[] = [];
    const linkWith = async (watched: Omit<WatchedTopics, 'take'>): Promise<MessageLink> => {
      const take: WatchedTopics['take'] = ({ topic }) => void seen.push(topic);
      const link = createMqttEdge(
        {
          ...{ url, protocol: '3.1.1', clientId: 'office', prefix: 'office', commandTopics: ['office/command'] },
          watched: { ...watched, take },
        },
        [],
        { accept: async () => {}, reject: () => {} },
        () => {},
        ({ payload }) => void commands.push(payload.toString()),
        systemClock,
      );
      await link.start();
      await waitUntil('the link stands', () => link.state().isUp, { explain: broker.log });
      return link;
    };
    const farm = await mqtt.connectAsync(url);
    onTestFinished(() => farm.endAsync(true));
    const say = (count: number, retain: boolean) =>
      Promise.all(
        Array.from({ length: count }, (_, at) =>
          farm.publishAsync(`farm/hub-${at % 50}/readings/s/ph/p`, String(at), { qos: 1, retain }),
        ),
      );

    const first = await linkWith({ filters: ['farm/+/readings/#'], former: [] });
    await first.stop();
    // More than the broker holds for one client that is away, and then somebody acknowledges an alarm.
    await say(50, true);
    await say(1100, false);
    await farm.publishAsync('office/command', 'acknowledge', { qos: 1 });

    const second = await linkWith({ filters: ['farm/+/readings/#'], former: [] });
    await waitUntil('the command comes', () => commands.includes('acknowledge'));
    await waitUntil('all that is retained comes', () => new Set(seen).size === 50);
    await second.stop();

    seen = [];
    const third = await linkWith({ filters: [], former: ['farm/+/readings/#'] });
    onTestFinished(() => third.stop());
    await farm.publishAsync('office/command', 'first', { qos: 1 });
    await waitUntil('it listens', () => commands.includes('first'));
    await say(50, false);
    await farm.publishAsync('office/command', 'last', { qos: 1 });
    await waitUntil('what came after it has come', () => commands.includes('last'));
    expect(third.state().counts).toMatchObject({ unknown_topic: 0, watched: 0 });
    expect(seen).toEqual([]);
  });
});

test('filters of the last configuration but one are forgotten', () => {
  const documents = new Map<string, string>();
  const store = {
    document: (name: string) => documents.get(name),
    commit: ({ documents: some = [] }: { documents?: { name: string; body: string }[] }) => {
      for (const { name, body } of some) documents.set(name, body);
      return { ids: [] };
    },
  };
  expect(formerFilters(store as never, ['a/status'])).toEqual([]);
  expect(formerFilters(store as never, ['b/status'])).toEqual(['a/status']);
  expect(formerFilters(store as never, [])).toEqual(['a/status', 'b/status']);
  expect(formerFilters(store as never, ['a/status'])).toEqual(['b/status']);
  documents.set('fleet filters', '{broken');
  expect(formerFilters(store as never, [])).toEqual([]);
});
