import mqtt, { type MqttClient } from 'mqtt';
import { pointsFromReadings } from '#adapters/influx/points.ts';
import { createMqttNotifier } from '#adapters/notify/mqtt/mqtt-notifier.ts';
import { stateNotice, waysTo } from '#hub/judgement/notices/notice-items.ts';
import { topicsBelow } from '#hub/model/config/topics.ts';
import { aboutHub } from '#hub/outside/fleet/about.ts';
import { readingTopic, senmlPack } from '#hub/outside/outward/senml-pack.ts';
import type { AlarmEvent } from '#rules/bands/alarm-event.ts';
import type { Reading } from '#rules/quality/reading.ts';
import type { Metric } from '#rules/quantity/metric.ts';
import { configOf, roomText } from '../../../servers/hub-process.ts';

/** The water of an invented farm: where each metric stays, and how wide its band is. */
const water: Partial<Record<Metric, { low: number; high: number }>> = {
  temperature: { low: 25, high: 26.5 },
  ph: { low: 7.9, high: 8.4 },
  salinity: { low: 34, high: 36 },
  orp: { low: 280, high: 420 },
};
const metrics = Object.keys(water) as Metric[];
const systems = ['grow-out', 'broodstock', 'quarantine'] as const;
const names = { 'grow-out': 'Grow-out raceway', broodstock: 'Broodstock tank', quarantine: 'Quarantine' };

/** What a system of the farm looks like in a configuration. */
export function farmBlocks(site: string, prefix: string, url: string) {
  return {
    site: { name: site, timezone: 'Europe/Lisbon' },
    mqtt: { url, prefix, readings_every_seconds: 1 },
    systems: systems.map((id) => ({ id, name: names[id], volume_l: 900, bands: water })),
    probes: systems.flatMap((system) =>
      metrics.map((metric) => ({
        ...{ id: `${system}-${metric}`, system, metric, every_seconds: 10 },
        mqtt: { topic: `probes/${prefix}/${system}/${metric}` },
      })),
    ),
  };
}

/** A value that wanders through the inner part of its band with the time and the place. */
export function farmValue(metric: Metric, seed: number, timeMs: number): number {
  const band = water[metric] ?? { low: 0, high: 1 };
  const swing = Math.sin(timeMs / 3_600_000 + seed * 1.7) * 0.3 + Math.sin(timeMs / 60_000 + seed) * 0.03;
  return Number((band.low + (band.high - band.low) * (0.5 + swing)).toFixed(3));
}

export type SimulatedHub = {
  prefix: string;
  /** All readings once, and the heartbeat when a minute has passed. */
  tick(): Promise<void>;
  raise(
    system: (typeof systems)[number],
    metric: Metric,
    priority: AlarmEvent['priority'],
    message: string,
  ): Promise<void>;
  /** A value out of its band, from the next reading on; undefined for the usual ones. */
  lead(metric: Metric, value: number | undefined): void;
  /** The heartbeat of so long ago stays the last. */
  beatOnceAt(timeMs: number): Promise<void>;
  /** Cuts the connection without a word, as a lost power supply does. */
  cut(): void;
  stop(): Promise<void>;
};

export type SimulatedHubOptions = {
  url: string;
  prefix: string;
  site: string;
  seed: number;
  everySeconds?: number;
  /** Lines of the readings, for a time-series server. */
  mirror?: (lines: string) => void;
};

/**
 * What a hub says to its broker, without the hub: the same topics, the same documents by the same code, the same last will.
 * It has no store and judges nothing.
 */
export async function startSimulatedHub(options: SimulatedHubOptions): Promise<SimulatedHub> {
  const { url, prefix, site, seed } = options;
  const config = configOf(roomText('/nowhere', farmBlocks(site, prefix, url)));
  const topics = topicsBelow(prefix);
  const ways = waysTo([createMqttNotifier(topics, () => undefined)]);
  const status = (state: string, since: string | null) => JSON.stringify({ state, since });
  const client: MqttClient = await mqtt.connectAsync(url, {
    clientId: `simulated-${prefix.replaceAll('/', '-')}`,
    will: { topic: topics.status, payload: Buffer.from(status('offline', null)), qos: 1, retain: true },
    reconnectPeriod: 0,
  });
  const led = new Map<Metric, number>();
  const since = new Date().toISOString();
  let beats = true;
  let beatMs = 0;
  const say = (topic: string, payload: string) => client.publishAsync(topic, payload, { qos: 1, retain: true });
  const heartbeat = (timeMs: number) =>
    say(topics.heartbeat, JSON.stringify({ time: new Date(timeMs).toISOString(), since, readings: 0 }));

  async function tick(): Promise<void> {
    const timeMs = Date.now();
    const readings: Reading[] = systems.flatMap((system, at) =>
      metrics.map((metric) => ({
        series: { system, metric, probe: `${system}-${metric}` },
        timeMs,
        quality: { flag: 'pass', value: led.get(metric) ?? farmValue(metric, seed + at, timeMs) } as const,
      })),
    );
    const beat = beats && timeMs - beatMs >= 60_000;
    if (beat) beatMs = timeMs;
    await Promise.all([
      ...readings.map((reading) => say(readingTopic(prefix, reading.series), senmlPack(reading))),
      ...(beat ? [heartbeat(timeMs)] : []),
    ]);
    options.mirror?.(pointsFromReadings(readings, prefix));
  }

  await say(topics.status, status('online', since));
  await say(topics.about, JSON.stringify(aboutHub(config)));
  await tick();
  const everyMs = (options.everySeconds ?? 10) * 1000;
  // Spread over the time, as hubs that were started on different days are.
  let timer: NodeJS.Timeout | undefined = setTimeout(
    () => {
      timer = setInterval(() => void tick().catch(() => {}), everyMs);
    },
    (everyMs * (seed % 50)) / 50,
  );
  const end = () => {
    clearTimeout(timer);
    clearInterval(timer);
    timer = undefined;
  };
  return {
    prefix,
    tick,
    async raise(system, metric, priority, message) {
      const alarm = `${system}/${metric}/out_of_band high`;
      const event: AlarmEvent = {
        ...{ timeMs: Date.now(), alarm, occurrence: 1, state: 'raised', system, metric },
        ...{ rule: 'out_of_band', priority, message },
      };
      const item = JSON.parse(ways(stateNotice(event, names[system]))[0]!.payload) as {
        topic: string;
        payload: string;
      };
      await say(item.topic, item.payload);
    },
    lead(metric, value) {
      if (value === undefined) led.delete(metric);
      else led.set(metric, value);
    },
    async beatOnceAt(timeMs) {
      beats = false;
      await heartbeat(timeMs);
    },
    cut() {
      end();
      client.stream.destroy();
    },
    async stop() {
      end();
      await client.endAsync(true).catch(() => {});
    },
  };
}
