import { mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { createServer } from 'node:net';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { type Command, InvalidArgumentError } from 'commander';
import type { Store } from '#adapters/ports/store.ts';
import type { AlarmEvent } from '#rules/bands/alarm-event.ts';
import { dayMs } from '#rules/clock/durations.ts';
import { demoConfig, demoTimezone, demoUtcOffsetMinutes } from '../demo/demo-config.ts';
import { startFeed } from '../demo/feed.ts';
import { furnish } from '../demo/furnish.ts';
import { type HistorySink, type PastReading, playHistory, usualPast } from '../demo/history.ts';
import type { Given } from '../demo/keepers-day.ts';
import { playOlderPast } from '../demo/older-past.ts';
import { openPtyLine, type PtyLine } from '../demo/pty-line.ts';
import { usualSpeed } from '../demo/script.ts';
import { seededRandom } from '../demo/seeded-random.ts';
import { createEntries, type Entries } from '../flow/entries/enter.ts';
import { localDate } from '../model/calendar/local-day.ts';
import { loadConfig } from '../model/config/load.ts';
import type { Config } from '../model/config/schema.ts';
import { watchedBands } from '../model/config/watched-room.ts';
import { written } from '../model/journal/journal.ts';
import { Refused } from '../model/refusals/refused.ts';
import { createBoundedLog } from '../outside/observability/bounded-log.ts';
import { logDestination } from '../outside/observability/log-words.ts';
import { startHub } from '../room/hub.ts';
import { askedToStop, pageDir } from './run-verb.ts';
import type { Terminal } from './terminal.ts';
import type { VerbAdapters } from './verb-adapters.ts';

const demoSeed = 20_261_125;

type DemoOptions = { speed: number; port: number; mqttPort: number; logLevel: string; seed: number };

/** The wished port when nobody has it, else one that is free. */
function freePort(wished: number): Promise<number> {
  return new Promise((resolve, reject) => {
    const probe = createServer();
    probe.once('error', () => (wished === 0 ? reject(new Error('no port is free')) : resolve(freePort(0))));
    probe.listen(wished, '127.0.0.1', () => {
      const address = probe.address();
      probe.close(() => resolve(typeof address === 'object' && address !== null ? address.port : wished));
    });
  });
}

function demoConfigFor(line: PtyLine | undefined, ports: { http: number; broker: number }, dataDir: string): Config {
  const text = demoConfig({ ptyPath: line?.path, brokerPort: ports.broker, httpPort: ports.http, dataDir });
  const loaded = loadConfig(text, 'demo.yaml', process.env, (file) => readFileSync(file, 'utf8'));
  if (!loaded.ok) throw new Refused('not_done', loaded.problems.map((problem) => problem.text).join('\n'));
  return loaded.config;
}

function enterGiven(entries: Entries, given: Given, nowMs: number): void {
  switch (given.kind) {
    case 'test':
      entries.test({ ...given.entry, confirmed: true }, nowMs);
      return;
    case 'dose':
      entries.dose(given.entry, nowMs);
      return;
    case 'plan':
      entries.plan(given.entry, nowMs);
      return;
    case 'water_change':
      entries.waterChange(given.entry, nowMs);
  }
}

/** Entries of the invented past: the estimator looks at all of them once, afterwards. */
function pastEntries(config: Config, store: Store): Entries {
  return createEntries({
    config,
    store,
    entered: () => {},
    question: () => undefined,
    isKnownSubstance: () => true,
  });
}

function keepPast(store: Store, batch: readonly PastReading[]): void {
  store.add(
    batch.map(({ system, metric, probe, value, timeMs }) => ({
      series: { system, metric, probe },
      timeMs,
      quality: { flag: 'pass', value },
    })),
  );
}

function keepAlarm(store: Store, event: AlarmEvent): void {
  const { timeMs, system } = event;
  store.commit({ entries: [written({ kind: 'alarm', timeMs, recordedMs: timeMs, system, body: { ...event } })] });
}

async function runDemo(options: DemoOptions, adapters: VerbAdapters, terminal: Terminal): Promise<void> {
  const dataDir = mkdtempSync(join(tmpdir(), 'brinekeep-demo-'));
  const stopping = askedToStop();
  const line = await openPtyLine(dataDir);
  const config = demoConfigFor(
    line,
    { http: await freePort(options.port), broker: await freePort(options.mqttPort) },
    dataDir,
  );
  const { clock } = adapters.hub;
  const random = seededRandom(options.seed);
  const startMs = clock.nowMs();
  let room: ReturnType<typeof playHistory> | undefined;
  const hub = await startHub(config, adapters.hub, {
    pageDir,
    log: createBoundedLog(
      { level: options.logLevel, base: { invented: true } },
      () => clock.monotonicMs(),
      logDestination(process.stdout, process.env),
    ),
    secrets: { env: process.env, readFile: (file) => readFileSync(file, 'utf8') },
    isInvented: true,
    beforeProbes: (store) => {
      const past = pastEntries(config, store);
      const sink: HistorySink = {
        readings: (batch) => keepPast(store, batch),
        enter: (given) => enterGiven(past, given, startMs),
      };
      const offset = demoUtcOffsetMinutes(startMs);
      const bandsOf = (id: string) => watchedBands(config.systems.find((each) => each.id === id) ?? { bands: {} });
      const older = playOlderPast(
        ...([startMs - usualPast.journalDays * dayMs, offset, random] as const),
        { ...sink, alarm: (event) => keepAlarm(store, event) },
        bandsOf,
      );
      room = playHistory(startMs, offset, random, sink, usualPast, older);
      store.flush();
    },
  });
  await furnish(hub.url, startMs, random, (timeMs) => localDate(timeMs, demoTimezone));
  terminal.print('This room, its keeper and its water are INVENTED: a demonstration of Brinekeep.');
  terminal.print(
    line === undefined
      ? 'No pseudo-terminal here (socat and python3 are missing): all probes use MQTT.'
      : `The display's board uses a pseudo-terminal (${line.by}), the other probes MQTT.`,
  );
  terminal.print('So are its faults: a line "not a reading" is invented noise on the wire, not a fault of yours.');
  terminal.print(`Page:  ${hub.url}`);
  terminal.print(`Phone: mosquitto_sub -p ${hub.brokerPort} -t '${config.mqtt.prefix}/phone'`);
  terminal.print('Stop:  Ctrl-C');
  if (room === undefined) throw new Error('the past of the demo was not played');
  const feed = startFeed({
    room,
    random,
    clock,
    line,
    speed: options.speed,
    brokerUrl: `mqtt://127.0.0.1:${hub.brokerPort}`,
    say: (text) =>
      terminal.print(`${new Date(clock.nowMs()).toISOString().slice(11, 19)} in the invented room: ${text}`),
    enter: (given) => enterGiven(hub.entries, given, clock.nowMs()),
  });
  await stopping;
  await feed.stop();
  await hub.stop();
  rmSync(dataDir, { recursive: true, force: true });
}

function atLeast(low: number, high: number): (text: string) => number {
  return (text) => {
    const value = Number(text);
    if (text.trim() === '' || !(value >= low && value <= high)) {
      throw new InvalidArgumentError(`need a number from ${low} to ${high}`);
    }
    return value;
  };
}

/** `brinekeep demo`: the hub over an invented room that is simulated and fed through its real inputs. */
export function addDemoVerb(program: Command, adapters: VerbAdapters, terminal: Terminal): void {
  program
    .command('demo')
    .description('run the hub on an invented room: a serial line, MQTT probes, and something that goes wrong')
    .option('--speed <n>', 'simulated seconds per real second, for water that is sped up', atLeast(1, 3600), usualSpeed)
    .option('--port <n>', 'port of the page; another one if it is taken', atLeast(0, 65_535), 8740)
    .option('--mqtt-port <n>', 'port of the broker; another one if it is taken', atLeast(0, 65_535), 1883)
    .option('--seed <n>', 'seed of what happens by chance in the room', atLeast(0, 2 ** 31), demoSeed)
    .option('--log-level <level>', 'error, warn, info or debug', 'warn')
    .action((options: DemoOptions) => runDemo(options, adapters, terminal));
}
