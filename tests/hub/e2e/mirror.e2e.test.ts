import mqtt, { type MqttClient } from 'mqtt';
import { afterEach, beforeEach, describe, expect, test } from 'vitest';
import type { Hub } from '#hub/room/hub.ts';
import { isMissing } from '../../machine/parts.mjs';
import { configOf, getJson, roomText, scratchRoom, startHubHere } from '../../servers/hub-process.ts';
import { type Influxd, startInfluxd } from '../../servers/influxd.ts';
import { patience, waitUntil } from '../../servers/server-process.ts';
import { startVictoriaMetrics, type VictoriaMetrics } from '../../servers/victoria-metrics.ts';

type Health = { outbox: { influx: { waiting: number; parked: number; dropped: number } } };

/** A probe that states its own time, so that every single reading can be told from any other. */
function startProbe(client: MqttClient): { sent(): Map<number, number>; stop(): void } {
  const sent = new Map<number, number>();
  let tick = 0;
  const timer = setInterval(() => {
    tick += 1;
    const timeMs = Date.now();
    const value = Number((25.5 + (tick % 7) / 100).toFixed(2));
    if (sent.has(timeMs)) return;
    sent.set(timeMs, value);
    client.publish('tank/t', JSON.stringify({ at: timeMs, water: { t: value } }), { qos: 1 });
  }, 50);
  return { sent: () => sent, stop: () => clearInterval(timer) };
}

/** A kill, a restart and the pauses between two attempts take their time. */
const timeout = 90_000 * patience();

describe('the time-series server is away for a while', { timeout }, () => {
  let scratch: ReturnType<typeof scratchRoom>;
  let hub: Hub | undefined;
  let client: MqttClient | undefined;
  let probe: ReturnType<typeof startProbe> | undefined;
  let server: Influxd | VictoriaMetrics | undefined;

  beforeEach(() => {
    scratch = scratchRoom();
  });

  afterEach(async () => {
    probe?.stop();
    await client?.endAsync(true);
    await hub?.stop();
    await server?.stop();
    scratch.remove();
  });

  const outbox = async () => (await getJson<Health>(`${hub?.url}/health`)).outbox.influx;
  const untilSent = (count: number) => waitUntil(`${count} readings`, () => (probe?.sent().size ?? 0) >= count);

  async function startRoom(influx: Record<string, unknown>): Promise<void> {
    const at = { topic: 'tank/t', format: 'json', channel: 'water.t', time_path: 'at' };
    const probes = [{ id: 't', system: 'display', metric: 'temperature', mqtt: at }];
    hub = await startHubHere(configOf(roomText(scratch.dir, { influx, probes })));
    client = await mqtt.connectAsync(`mqtt://127.0.0.1:${hub.brokerPort}`);
    probe = startProbe(client);
  }

  /** Runs the probe while the server works, is away, and works again; gives what the probe has sent, by time. */
  async function throughAnOutage(server: { goAway(): Promise<void>; comeBack(): Promise<void> }) {
    await untilSent(30);
    await server.goAway();
    const when = probe?.sent().size ?? 0;
    await untilSent(when + 40);
    await waitUntil('batches wait on disk', async () => (await outbox()).waiting > 1);
    await server.comeBack();
    await untilSent(when + 70);
    probe?.stop();
    // Two flushes on, with an empty outbox, all that was sent has been accepted.
    await waitUntil('the last reading is stored', async () => {
      const lastMs = Math.max(...(probe?.sent().keys() ?? []));
      return hub?.store.latest({ system: 'display', metric: 'temperature', probe: 't' })?.timeMs === lastMs;
    });
    hub?.store.flush();
    await waitUntil('the outbox is empty', async () => (await outbox()).waiting === 0, { withinMs: 60_000 });
    expect(await outbox()).toMatchObject({ parked: 0, dropped: 0 });
    return [...(probe?.sent() ?? [])].toSorted(([a], [b]) => a - b);
  }

  test.skipIf(isMissing('influxd'))(
    'readings of the outage are missing from the curves of InfluxDB, or stand there twice',
    async () => {
      const influxd = await startInfluxd();
      server = influxd;
      await startRoom({ url: influxd.url, api: 'v1', database: 'hub', resend_after_seconds: 1 });
      const sent = await throughAnOutage({ goAway: () => influxd.kill(), comeBack: () => influxd.restart() });
      expect(await influxd.query('SELECT count("value") FROM "temperature"')).toEqual([[0, sent.length]]);
      const rows = await influxd.query('SELECT "value", "probe", "system" FROM "temperature"');
      expect(rows).toEqual(sent.map(([timeMs, value]) => [timeMs, value, 't', 'display']));
    },
  );

  test.skipIf(isMissing('victoria-metrics'))(
    'what VictoriaMetrics had accepted and forgot when it was killed never comes again',
    async () => {
      const victoria = await startVictoriaMetrics();
      server = victoria;
      // It answers before it writes to disk, and a kill takes some seconds along: hence the second delivery.
      await startRoom({ url: victoria.url, api: 'v1', database: 'hub', resend_after_seconds: 8 });
      const sent = await throughAnOutage({ goAway: () => victoria.kill(), comeBack: () => victoria.restart() });
      const found = () => victoria.samples('temperature_value');
      await waitUntil('every reading is there', async () => (await found()).length >= sent.length);
      const samples = (await found()).toSorted((a, b) => a.timeMs - b.timeMs);
      expect(samples.map(({ timeMs, value }) => [timeMs, value])).toEqual(sent);
    },
  );
});
