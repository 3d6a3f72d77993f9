import { spawnSync } from 'node:child_process';
import { connectAsync } from 'mqtt';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { adaptersForVerbs } from '#hub/compose.ts';
import type { Health } from '#hub/model/answers/health-schema.ts';
import type { Hub } from '#hub/room/hub.ts';
import { isMissing, programAt } from '../../../machine/parts.mjs';
import { freePort } from '../../../servers/free-port.ts';
import { configOf, getJson, roomText, scratchRoom, startHubHere } from '../../../servers/hub-process.ts';
import { patience, waitUntil } from '../../../servers/server-process.ts';
import { type Family, openMetricsFrom } from './open-metrics-parser.ts';

describe('what a monitoring system sees of a hub', () => {
  const scratch = scratchRoom();
  let hub: Hub;

  beforeAll(async () => {
    hub = await startHubHere(
      configOf(
        roomText(scratch.dir, {
          serial: [{ id: 'gone', path: '/dev/no-such-port', format: 'key_value' }],
          probes: [
            // A label must be escaped, whatever a topic holds.
            { id: 't', system: 'display', metric: 'temperature', mqtt: { topic: 'room/"a\\b"', format: 'number' } },
            { id: 's', system: 'display', metric: 'ph', serial: { port: 'gone', channel: 'ph' } },
          ],
          rules: [{ rule: 'out_of_band', metric: 'temperature', on_delay_minutes: 0 }],
        }),
      ),
    );
    const probe = await connectAsync(`mqtt://127.0.0.1:${hub.brokerPort}`);
    for (const payload of ['28', '28.01', 'nonsense', '28.02'])
      await probe.publishAsync('room/"a\\b"', payload, { qos: 1 });
    await waitUntil('all is taken in', async () => {
      const { readings } = await getJson<Health>(`${hub.url}/health`);
      return readings['accepted'] === 3;
    });
    await probe.endAsync();
  }, 60_000 * patience());
  afterAll(async () => {
    await hub.stop();
    scratch.remove();
  });

  const scrape = async () => {
    const response = await fetch(`${hub.url}/metrics`);
    return { type: response.headers.get('content-type'), text: await response.text() };
  };
  const figureOf = (family: Family | undefined, labels: Record<string, string>) =>
    family?.samples.find((sample) => Object.entries(labels).every(([label, value]) => sample.labels[label] === value))
      ?.value;

  test('the figures are not OpenMetrics, or are not those of the room', async () => {
    const { type, text } = await scrape();
    expect(type).toBe('application/openmetrics-text; version=1.0.0; charset=utf-8');
    const families = openMetricsFrom(text);
    const of = (name: string) => families.get(`brinekeep_${name}`);
    expect(figureOf(of('observations'), { source: 'mqtt:room/"a\\b"' })).toBe(3);
    expect(figureOf(of('readings'), {})).toBe(3);
    expect(figureOf(of('dropped'), { cause: 'malformed' })).toBe(1);
    expect(figureOf(of('reading'), { metric: 'temperature', system: 'display', probe: 't' })).toBe(28.02);
    expect(of('alarms')?.samples).toEqual([
      { name: 'brinekeep_alarms', labels: { priority: 'high', state: 'unacknowledged' }, value: 1 },
    ]);
    expect(figureOf(of('edge_up'), { edge: 'serial:gone' })).toBe(0);
    expect(figureOf(of('clock_trusted'), {})).toBe(1);
    expect(figureOf(of('judging_seconds'), { le: '+Inf' })).toBe(3);
    expect(of('judging_seconds')?.type).toBe('histogram');
    // A processor in emulation tells no process how much memory it has.
    const least = process.memoryUsage().rss === 0 ? -1 : 10_000_000;
    expect(figureOf(of('memory_bytes'), { kind: 'rss' })).toBeGreaterThan(least);
    expect(figureOf(of('store_bytes'), {})).toBeGreaterThan(0);
    for (const name of [
      'outbox_waiting',
      'outbox_oldest_age_seconds',
      'event_loop_delay_seconds',
      'clock_steps',
      'backup_failed',
    ])
      expect(of(name)?.samples.length, name).toBeGreaterThan(0);
    // Asked twice, a counter is not counted twice.
    expect(figureOf(openMetricsFrom((await scrape()).text).get('brinekeep_readings'), {})).toBe(3);
  });

  test.skipIf(isMissing('prometheus_client'))(
    'a reader of others (prometheus_client for Python) refuses the figures',
    async () => {
      const { text } = await scrape();
      const script =
        'import sys; from prometheus_client.openmetrics.parser import text_string_to_metric_families as p; print(sum(1 for _ in p(sys.stdin.read())))';
      const read = spawnSync(programAt('prometheus_client'), ['-c', script], { input: text, encoding: 'utf8' });
      expect(read.stderr).toBe('');
      expect(Number(read.stdout)).toBe(openMetricsFrom(text).size);
    },
  );

  test('the parser takes what is no OpenMetrics, and the test above shows nothing', () => {
    const good = '# TYPE a counter\na_total 1\n# EOF\n';
    expect(openMetricsFrom(good).size).toBe(1);
    for (const bad of [
      'a_total 1\n# EOF\n',
      good.replace('# EOF\n', ''),
      good.replace('a_total 1', 'a_total one'),
      good.replace('a_total 1', 'a 1'),
      good.replace('a_total 1', 'a_total 1\na_total 2'),
      good.replace('a_total 1', 'a_total{b="c"d"} 1'),
      good.replace('a_total 1', 'a_total{b="c\\d"} 1'),
    ])
      expect(() => openMetricsFrom(bad), bad).toThrow();
  });

  test('health hides a port that is away, names no cause, or calls a hub dead that does its work', async () => {
    const health = await getJson<Health>(`${hub.url}/health`);
    expect(health).toMatchObject({ status: 'degraded', alive: true, ready: true, clock: { trusted: true } });
    expect(health.causes.map(({ part }) => part)).toEqual(['edge serial:gone']);
    expect(health.edges.find(({ name }) => name === 'mqtt')).toMatchObject({
      up: true,
      age_seconds: expect.any(Number),
    });
    expect(health.timers.map(({ name }) => name)).toEqual(
      expect.arrayContaining(['tick', 'arrivals', 'heartbeat', 'backups', 'old readings']),
    );
    for (const path of ['alive', 'ready']) expect((await fetch(`${hub.url}/health/${path}`)).status).toBe(200);
  });
});

test('a hub is called ready while a port is still being opened', async () => {
  const scratch = scratchRoom();
  const port = await freePort();
  const ready = async () => (await fetch(`http://127.0.0.1:${port}/health/ready`)).status;
  let open = () => {};
  const isOpen = new Promise<void>((resolve) => (open = resolve));
  let isBeingOpened = false;
  const { createLink } = adaptersForVerbs.hub;
  const starting = startHubHere(configOf(roomText(scratch.dir, { http: { port } })), {
    createLink(...given) {
      const link = createLink(...given);
      return {
        ...link,
        async start() {
          isBeingOpened = true;
          await isOpen;
          await link.start();
        },
      };
    },
  });
  try {
    await waitUntil('the link is being opened', () => isBeingOpened);
    expect(await ready()).toBe(503);
    open();
    await starting;
    expect(await ready()).toBe(200);
  } finally {
    open();
    await (await starting).stop();
    scratch.remove();
  }
});
