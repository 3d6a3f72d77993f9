import { existsSync, readFileSync } from 'node:fs';
import { connectAsync, type MqttClient } from 'mqtt';
import { afterAll, beforeAll, describe, expect, test, vi } from 'vitest';
import type * as z from 'zod';
import { pointsFromReadings } from '#adapters/influx/points.ts';
import {
  alarmPayload,
  heartbeatPayload,
  readingPayload,
  statusPayload,
} from '#hub/judgement/notices/payload-schemas.ts';
import { phoneLineMostCharacters } from '#hub/judgement/notices/phone-line.ts';
import { aboutSchema } from '#hub/outside/fleet/about.ts';
import type { Hub } from '#hub/room/hub.ts';
import type { Reading } from '#rules/quality/reading.ts';
import { configOf, getJson, roomText, scratchRoom, startHubHere } from '../servers/hub-process.ts';
import { startInfluxd } from '../servers/influxd.ts';
import { patience, waitUntil } from '../servers/server-process.ts';
import { generatedFiles } from './generated-files.ts';
import { questions } from './influx-reference.ts';
import { saidBy } from './live-hub.ts';

// Slow on a loaded machine, and no time is asserted.
vi.setConfig({ testTimeout: 120_000 * patience(), hookTimeout: 120_000 * patience() });

const committed = (path: string) => {
  const url = new URL(`../../${path}`, import.meta.url);
  return existsSync(url) ? readFileSync(url, 'utf8') : '';
};

describe('the reference pages, beside a hub that runs', () => {
  const scratch = scratchRoom();
  const heard = new Map<string, string[]>();
  let hub: Hub;
  let listener: MqttClient;

  beforeAll(async () => {
    hub = await startHubHere(
      configOf(
        roomText(scratch.dir, {
          mqtt: { readings_every_seconds: 0.2 },
          probes: [{ id: 't', system: 'display', metric: 'temperature', mqtt: { topic: 'room/t', format: 'number' } }],
          rules: [{ rule: 'out_of_band', metric: 'temperature', on_delay_minutes: 0 }],
        }),
      ),
    );
    listener = await connectAsync(`mqtt://127.0.0.1:${hub.brokerPort}`);
    listener.on('message', (topic, payload) => heard.set(topic, [...(heard.get(topic) ?? []), payload.toString()]));
    await listener.subscribeAsync('brinekeep/#', { qos: 1 });
  });
  afterAll(async () => {
    await listener?.endAsync();
    await hub?.stop();
    scratch.remove();
  });

  test('a page describes another hub than this one: run `npm run docs`', async () => {
    for (const [path, text] of generatedFiles(await saidBy(hub.url))) {
      expect({ path, isSame: committed(path) === text }).toEqual({ path, isSame: true });
    }
  });

  test('a message has other fields than the page about MQTT says, or goes to a topic that it does not name', async () => {
    for (const payload of ['28', '28.02', '28.01']) await listener.publishAsync('room/t', payload, { qos: 1 });
    const alarm = 'brinekeep/alarms/display/temperature/out_of_band/high';
    const series = 'brinekeep/readings/display/temperature/t';
    await waitUntil(
      'alarm, line and reading are told',
      () =>
        [alarm, series, 'brinekeep/phone', 'brinekeep/status', 'brinekeep/heartbeat'].every((topic) =>
          heard.has(topic),
        ),
      { explain: () => [...heard.keys()].join('\n') },
    );
    await listener.publishAsync('brinekeep/command', 'acknowledge display/temperature/out_of_band/high', { qos: 1 });
    await waitUntil('the acknowledgement is told', () => heard.get(alarm)?.at(-1)?.includes('acknowledged') === true);
    expect(await getJson<{ state: string }[]>(`${hub.url}/api/alarms`)).toMatchObject([{ state: 'acknowledged' }]);

    const schemas: [RegExp, z.ZodType][] = [
      [/^brinekeep\/alarms\/./, alarmPayload],
      [/^brinekeep\/readings\/[^/]+\/[^/]+\/[^/]+$/, readingPayload],
      [/^brinekeep\/status$/, statusPayload],
      [/^brinekeep\/heartbeat$/, heartbeatPayload],
      [/^brinekeep\/about$/, aboutSchema],
    ];
    const page = committed('deploy/docs/mqtt.md');
    for (const [topic, payloads] of heard) {
      if (topic === 'brinekeep/command') continue;
      if (topic === 'brinekeep/phone') {
        expect(payloads.every((line) => [...line].length <= phoneLineMostCharacters)).toBe(true);
        continue;
      }
      const schema = schemas.find(([pattern]) => pattern.test(topic))?.[1];
      expect({ topic, isDescribed: schema !== undefined }).toEqual({ topic, isDescribed: true });
      for (const payload of payloads) expect(schema?.safeParse(JSON.parse(payload)).error).toBeUndefined();
      const named = topic
        .replace(/\/alarms\/.*/, '/alarms/ALARM')
        .replace(/\/readings\/.*/, '/readings/SYSTEM/METRIC/PROBE');
      expect(page).toContain(`\`${named}\``);
    }
  });
});

describe('the questions to a time-series server', () => {
  const minuteMs = 60_000;
  const nowMs = Math.floor(Date.now() / minuteMs) * minuteMs;
  const series = (metric: 'temperature' | 'salinity') => ({ system: 'display', metric, probe: `display-${metric}` });
  const readings: Reading[] = Array.from({ length: 30 }, (_, minute) => {
    const timeMs = nowMs - minute * minuteMs;
    return [
      { series: series('temperature'), timeMs, quality: { flag: 'pass' as const, value: 25 + minute / 100 } },
      { series: series('salinity'), timeMs, quality: { flag: 'pass' as const, value: 35 } },
    ];
  }).flat();
  readings.push({
    ...{ series: series('temperature'), timeMs: nowMs + 1000 },
    quality: { flag: 'fail', raw: 85, why: 'out of range' },
  });

  test('a question of the page is refused by a real InfluxDB, or answers something else', async () => {
    const influxd = await startInfluxd();
    try {
      const body = pointsFromReadings(readings, 'fish-room');
      const written = await fetch(`${influxd.url}/write?db=hub&precision=ms`, { method: 'POST', body });
      expect(written.status).toBe(204);
      const answers: unknown[][][] = [];
      for (const { influxql } of questions) answers.push(await influxd.query(influxql));
      const [last = [], byHour = [], failed = [], swing = []] = answers;
      // A failed reading is newer, and is no temperature.
      expect(last).toEqual([[nowMs, 25]]);
      expect(byHour.map(([, ...figures]) => figures)).toEqual(byHour.map(() => [35, 35, 35]));
      expect(byHour.length).toBeGreaterThan(0);
      expect(failed.map(([, count]) => count)).toEqual([1]);
      const days = swing.map(([, spread]) => Number(spread));
      expect(Math.max(...days)).toBeGreaterThan(0.1);
      expect(Math.max(...days)).toBeLessThan(0.3);
    } finally {
      await influxd.stop();
    }
  });
});
