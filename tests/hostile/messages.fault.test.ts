import fc from 'fast-check';
import mqtt, { type MqttClient } from 'mqtt';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import type { KeptEntry } from '#adapters/ports/store.ts';
import type { Hub } from '#hub/room/hub.ts';
import { ask } from '../hub/http/ask.ts';
import { configOf, roomText, scratchRoom, startHubHere } from '../servers/hub-process.ts';
import { patience, waitUntil } from '../servers/server-process.ts';
import { damagedJson, editedText, edits, hostileJson, hostileTexts } from './from-schema.ts';

/** `HOSTILE_RUNS=2000 npx vitest run tests/hostile/messages.fault.test.ts` for a long one. */
const runs = Number(process.env['HOSTILE_RUNS'] ?? 150);

/** A sound message of each kind that the hub listens to. */
const sound: Readonly<Record<string, readonly string[]>> = {
  'brinekeep/command': [
    '{"do":"acknowledge","alarm":"display/temperature/out_of_band/high"}',
    '{"do":"shelve","alarm":"display/temperature/out_of_band/high","minutes":30,"by":"Ana"}',
    '{"do":"maintenance","system":"display","probe":"t","minutes":30}',
    '{"do":"end_maintenance","system":"display"}',
    'acknowledge all',
    'all well?',
    'shelve display/temperature/out_of_band/high 30',
    'maintenance display 30',
    'arrival a1 next',
    'arrival a1 hold 3',
    'arrival a1-1 done all fine',
  ],
  'brinekeep/enter/test': ['{"system":"display","analyte":"alkalinity","value":8.1,"sd":0.1,"note":"x"}'],
  'brinekeep/enter/dose': [
    '{"system":"display","substance":"sodium_carbonate","grams":5}',
    '{"system":"display","stock":"soda","ml":5}',
  ],
  'display/t': ['25.5'],
  'display/ph': ['{"water":{"ph":8.1},"at":"2026-11-01T12:00:00Z"}'],
};

describe('whatever comes by MQTT', () => {
  const scratch = scratchRoom();
  let hub: Hub;
  let phone: MqttClient;
  const answers: string[] = [];

  beforeAll(async () => {
    hub = await startHubHere(
      configOf(
        roomText(scratch.dir, {
          probes: [
            { id: 't', system: 'display', metric: 'temperature', mqtt: { topic: 'display/t' } },
            {
              ...{ id: 'ph', system: 'display', metric: 'ph', temperature_probe: 't' },
              mqtt: { topic: 'display/ph', format: 'json', channel: 'water.ph', time_path: 'at' },
            },
          ],
        }),
      ),
    );
    phone = await mqtt.connectAsync(`mqtt://127.0.0.1:${hub.brokerPort}`);
    phone.on('message', (_topic, payload) => answers.push(payload.toString('utf8')));
    await phone.subscribeAsync('brinekeep/phone');
  });
  afterAll(async () => {
    await phone?.endAsync();
    await hub?.stop();
    scratch.remove();
  });

  const say = (topic: string, payload: string | Buffer) => phone.publishAsync(topic, payload, { qos: 1 });

  /** The hub has read all that was said before, and is well. */
  async function expectAlive(): Promise<void> {
    answers.length = 0;
    await say('brinekeep/command', 'all well?');
    await waitUntil('the hub answers', () => answers.some((line) => /All is well|active alarm/i.test(line)));
    const health = (await ask(hub.url, '/health')).json<{
      alive: boolean;
      causes: { part: string; cause: string }[];
    }>();
    expect(health.alive).toBe(true);
    expect(health.causes.filter(({ cause }) => cause.includes('fault'))).toEqual([]);
    const metrics = (await ask(hub.url, '/metrics')).text;
    expect(metrics.match(/^brinekeep_\w*fault\w*\{[^}]*\} [1-9].*$/gm) ?? []).toEqual([]);
    expect(({} as Record<string, unknown>)['polluted']).toBeUndefined();
  }

  test.each(Object.keys(sound))(
    'on %s ends the hub or breaks a part of it',
    { timeout: 60_000 * patience() },
    async (topic) => {
      const texts = sound[topic] ?? [];
      const damaged = fc.tuple(fc.constantFrom(...texts), edits).map(([text, cuts]) => editedText(text, cuts));
      const parts = fc
        .tuple(
          fc.constantFrom(...texts.filter((text) => text.startsWith('{')), '{}'),
          fc.nat(),
          fc.constantFrom(...hostileJson),
        )
        .map(([text, at, hostile]) => damagedJson(JSON.parse(text), at, hostile));
      const bytes = fc.uint8Array({ maxLength: 200 }).map((each) => Buffer.from(each));
      await fc.assert(
        fc.asyncProperty(fc.oneof(damaged, parts, bytes, fc.constantFrom(...hostileTexts)), async (payload) => {
          await say(topic, payload);
        }),
        { numRuns: runs },
      );
      await expectAlive();
      const kept = (await ask(hub.url, '/api/entries?limit=1000')).json<KeptEntry[]>();
      expect(kept.map(({ body }) => JSON.stringify(body)).filter((body) => /[:,[]null/.test(body))).toEqual([]);
      expect(kept.every(({ system }) => system === 'display' || system === '')).toBe(true);
    },
  );

  test('of great size or depth is read, kept, or ends the hub', async () => {
    for (const topic of Object.keys(sound)) {
      await say(topic, '['.repeat(8000));
      await say(topic, '{"a":'.repeat(1600));
      await say(topic, 'x'.repeat(200_000));
      await say(topic, `{"do":"status","x":"${'y'.repeat(8000)}"}`);
    }
    await expectAlive();
  });

  test('on a topic that only looks like one of ours is carried out', async () => {
    const before = (await ask(hub.url, '/api/entries?limit=1000')).json<KeptEntry[]>().length;
    const entry = '{"system":"display","analyte":"alkalinity","value":8.1}';
    for (const topic of [
      'brinekeep/enter/test/',
      'brinekeep/enter/Test',
      '/brinekeep/enter/test',
      'brinekeep/enter/../enter/test',
      '__proto__',
      'constructor',
      'brinekeep/enter/constructor',
    ])
      await say(topic, entry);
    await expectAlive();
    expect((await ask(hub.url, '/api/entries?limit=1000')).json<KeptEntry[]>()).toHaveLength(before);
  });
});
