import { join } from 'node:path';
import { configOf, roomText, startHubHere } from '../../../servers/hub-process.ts';
import { type Influxd, startInfluxd } from '../../../servers/influxd.ts';
import { type Mosquitto, startMosquitto } from '../../../servers/mosquitto.ts';
import { farmValue, type SimulatedHub, startSimulatedHub } from './simulated-hub.ts';

const minuteMs = 60_000;

export type Farm = {
  broker: Mosquitto;
  database: Influxd | undefined;
  hubs: SimulatedHub[];
  /** Another hub below the farm's prefix. */
  url: string;
  stop(): Promise<void>;
};

/** An invented farm on one real broker: so many light hubs, farm/hub-01 and on, and a real database when it is asked for. */
export async function startFarm(count: number, withDatabase: boolean, everySeconds = 10): Promise<Farm> {
  const broker = await startMosquitto();
  const database = withDatabase ? await startInfluxd() : undefined;
  const url = `mqtt://127.0.0.1:${broker.port}`;
  const hubs: SimulatedHub[] = [];
  for (let number = 1; number <= count; number += 1) {
    const name = String(number).padStart(2, '0');
    hubs.push(
      await startSimulatedHub({
        ...{ url, prefix: `farm/hub-${name}`, site: `Hall ${name} (invented)`, seed: number, everySeconds },
        ...(database === undefined ? {} : { mirror: (lines: string) => void write(database, lines) }),
      }),
    );
  }
  return {
    ...{ broker, database, hubs, url },
    async stop() {
      for (const hub of hubs) await hub.stop();
      await database?.stop();
      await broker.stop();
    },
  };
}

async function write(database: Influxd, lines: string): Promise<void> {
  await fetch(`${database.url}/write?db=hub&precision=ms`, { method: 'POST', body: lines }).catch(() => {});
}

/** A day of a hub's temperature, one point a minute, with one wild minute. */
export async function writeDay(database: Influxd, prefix: string, seed: number, spike: number): Promise<void> {
  const now = Math.floor(Date.now() / minuteMs) * minuteMs;
  const lines = Array.from({ length: 1440 }, (_, minute) => {
    const timeMs = now - minute * minuteMs;
    const value = minute === 300 ? spike : farmValue('temperature', seed, timeMs);
    const tags = `flag=pass,hub=${prefix},probe=broodstock-temperature,system=broodstock`;
    return `temperature,${tags} value=${value} ${timeMs}`;
  });
  await write(database, lines.join('\n'));
}

/** The real hub that shows the farm. */
export function startWatcher(
  farm: Farm,
  dir: string,
  pageDir = join(dir, 'no-page'),
  more: Record<string, unknown> = {},
) {
  const influx = {
    url: farm.database?.url ?? 'http://127.0.0.1:1',
    api: 'v1',
    database: 'hub',
    resend_after_seconds: 0,
  };
  const text = roomText(dir, {
    site: { name: 'Office (invented)', timezone: 'Europe/Lisbon' },
    mqtt: { url: farm.url, prefix: 'farm/office', readings_every_seconds: 1 },
    fleet: { prefixes: ['farm/+'] },
    ...(farm.database === undefined ? {} : { influx }),
    ...more,
  });
  return startHubHere(configOf(text), {}, pageDir);
}
