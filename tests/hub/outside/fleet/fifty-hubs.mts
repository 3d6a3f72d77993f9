/**
 * Fifty hubs on one real Mosquitto and one real InfluxDB, and the hub that shows them, in processes of their own:
 *
 *     npx tsx --conditions=source tests/hub/outside/fleet/fifty-hubs.mts [hubs] [folder for pictures]
 *
 * All but two are light ones that publish what a hub publishes; the two are real, with probes that speak over MQTT. Needs a
 * built page in dist/web. The farm is invented.
 */
import { readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import mqtt from 'mqtt';
import type { HubTile } from '#hub/api/fleet.ts';
import type { Metric } from '#rules/quantity/metric.ts';
import { buildPage, openBrowser, phone, wall } from '../../../browser/page-kit.ts';
import { getJson, roomText, scratchRoom, startHubProcess } from '../../../servers/hub-process.ts';
import { waitUntil } from '../../../servers/server-process.ts';
import { startFarm, writeDay } from './farm.ts';
import { farmBlocks, farmValue } from './simulated-hub.ts';

type Fleet = { hubs: HubTile[]; counts: Record<string, number>; link: { isUp: boolean } };
type Health = { edges: { name: string; counts: Record<string, number> }[] };

const count = Number(process.argv[2] ?? 50);
const pictures = process.argv[3];
const watchForMs = 60_000;
const ticksPerSecond = 100;

const farm = await startFarm(count - 2, true);
const scratch = Array.from({ length: 3 }, scratchRoom);
console.log(`mosquitto and influxd run, and ${farm.hubs.length} light hubs: 3 systems of 4 metrics each, every 10 s`);

const real = await Promise.all(
  [1, 2].map((number) => {
    const dir = scratch[number]?.dir ?? '';
    const influx = { url: farm.database?.url, api: 'v1', database: 'hub' };
    const blocks = { ...farmBlocks(`Greenhouse ${number} (invented)`, `farm/greenhouse-${number}`, farm.url), influx };
    return startHubProcess(dir, roomText(dir, blocks));
  }),
);
const probes = await mqtt.connectAsync(farm.url);
const metrics = ['temperature', 'ph', 'salinity', 'orp'] as const satisfies readonly Metric[];
const speak = () => {
  for (const number of [1, 2])
    for (const system of ['grow-out', 'broodstock', 'quarantine'])
      for (const metric of metrics)
        probes.publish(
          `probes/farm/greenhouse-${number}/${system}/${metric}`,
          String(farmValue(metric, number, Date.now())),
        );
};
const speaking = setInterval(speak, 2000);
speak();

const dir = scratch[0]?.dir ?? '';
if (pictures !== undefined) await buildPage(fileURLToPath(new URL('../../../../dist/web', import.meta.url)));
const office = roomText(dir, {
  site: { name: 'Office (invented)', timezone: 'Europe/Lisbon' },
  mqtt: { url: farm.url, prefix: 'office' },
  fleet: { prefixes: ['farm/+'] },
  influx: { url: farm.database?.url, api: 'v1', database: 'hub' },
});
const watcher = await startHubProcess(dir, office);
const started = performance.now();
const fleet = () => getJson<Fleet>(`${watcher.url}/api/fleet`);
await waitUntil(
  `${count} hubs are shown whole`,
  async () => {
    const { hubs } = await fleet();
    return hubs.length === count && hubs.every(({ values }) => values.inside + values.outside === 12);
  },
  { withinMs: 120_000, explain: watcher.log },
);
console.log(
  `all ${count} hubs with their 12 values are shown ${Math.round(performance.now() - started)} ms after the page of the hub that shows them answers`,
);

const pid = watcher.child.pid ?? 0;
const rssMb = () => Number(/VmRSS:\s+(\d+)/.exec(readFileSync(`/proc/${pid}/status`, 'utf8'))?.[1] ?? 0) / 1024;
const cpuSeconds = () => {
  const fields = readFileSync(`/proc/${pid}/stat`, 'utf8').split(') ')[1]?.split(' ') ?? [];
  return (Number(fields[11]) + Number(fields[12])) / ticksPerSecond;
};
const watched = async () =>
  (await getJson<Health>(`${watcher.url}/health`)).edges.find(({ name }) => name === 'mqtt')?.counts['watched'] ?? 0;
const before = { cpu: cpuSeconds(), messages: await watched(), atMs: performance.now() };
let asked = 0;
let bytes = 0;
let slowestMs = 0;
// As three open walls ask.
while (performance.now() - before.atMs < watchForMs) {
  const at = performance.now();
  bytes = (await (await fetch(`${watcher.url}/api/fleet`)).text()).length;
  slowestMs = Math.max(slowestMs, performance.now() - at);
  asked += 1;
  await new Promise((resolve) => setTimeout(resolve, 1333));
}
const seconds = (performance.now() - before.atMs) / 1000;
console.log(
  `over ${Math.round(seconds)} s: ${(((await watched()) - before.messages) / seconds).toFixed(1)} messages/s, ` +
    `CPU ${(((cpuSeconds() - before.cpu) / seconds) * 100).toFixed(1)} % of one core, RSS ${rssMb().toFixed(0)} MB; ` +
    `${asked} answers of ${Math.round(bytes / 1024)} KiB, the slowest in ${Math.round(slowestMs)} ms`,
);
console.log('counts', JSON.stringify((await fleet()).counts));

const cutAt = performance.now();
farm.hubs[6]?.cut();
await waitUntil('the hub that was cut off is offline', async () => (await fleet()).hubs[0]?.state === 'offline');
console.log(
  `a light hub whose connection broke is first and offline after ${Math.round(performance.now() - cutAt)} ms`,
);
const killedAt = performance.now();
await real[1]?.end('SIGKILL');
await waitUntil('the real hub that was killed is offline', async () =>
  (await fleet()).hubs.some(({ hub, state }) => hub === 'farm/greenhouse-2' && state === 'offline'),
);
console.log(`a real hub that was killed (SIGKILL) is offline after ${Math.round(performance.now() - killedAt)} ms`);

if (pictures !== undefined) {
  await farm.hubs[11]?.raise(
    'broodstock',
    'temperature',
    'high',
    'Temperature is 28.10 °C, above its band of 25.00 to 26.50. Is the chiller running?',
  );
  farm.hubs[11]?.lead('temperature', 28.1);
  await farm.hubs[11]?.tick();
  await farm.hubs[20]?.raise('quarantine', 'ph', 'medium', 'pH is 7.71, below its band of 7.90 to 8.40');
  await farm.hubs[20]?.raise('grow-out', 'orp', 'low', 'ORP has not been heard for 20 min');
  farm.hubs[30]?.lead('salinity', 36.2);
  await farm.hubs[30]?.tick();
  await farm.hubs[40]?.beatOnceAt(Date.now());
  if (farm.database !== undefined) await writeDay(farm.database, 'farm/hub-12', 12, 28.4);
  const browser = await openBrowser();
  for (const [name, size] of Object.entries({ wall, phone })) {
    for (const scheme of ['dark', 'light'] as const) {
      const page = await browser.newPage({ viewport: size, colorScheme: scheme });
      for (const [view, address] of [
        ['fleet', '#/fleet'],
        ['hub', '#/fleet/farm%2Fhub-12'],
        ['curve', '#/fleet/farm%2Fhub-12/broodstock/temperature'],
      ] as const) {
        await page.goto(`${watcher.url}/${address}`);
        await page.waitForTimeout(2500);
        writeFileSync(join(pictures, `${view}-${name}-${scheme}.png`), await page.screenshot());
      }
      await page.close();
    }
  }
  await browser.close();
  console.log(`pictures are in ${pictures}`);
}

clearInterval(speaking);
await probes.endAsync(true);
await watcher.end('SIGTERM');
for (const hub of real) await hub.end('SIGTERM');
await farm.stop();
for (const each of scratch) each.remove();
