import { readFileSync, statSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { createEmbeddedBroker } from '#adapters/broker/embedded-broker.ts';
import { isMachineClockSet } from '#adapters/clock/machine-clock-set.ts';
import { createRoomClock } from '#adapters/clock/room-clock.ts';
import { systemClock } from '#adapters/clock/system-clock.ts';
import { readReadingsCsv } from '#adapters/csv/readings-csv.ts';
import { csvTables } from '#adapters/csv/tables.ts';
import { writeWholeFile } from '#adapters/csv/write-file.ts';
import { writeOver } from '#adapters/csv/write-over.ts';
import { decodeSenml } from '#adapters/decoders/senml.ts';
import { createHistoryReader } from '#adapters/influx/history-reader.ts';
import { createInfluxEdge } from '#adapters/influx/influx-edge.ts';
import { mirrorBatch } from '#adapters/influx/points.ts';
import { hearBroker } from '#adapters/mqtt/hear-broker.ts';
import { createMqttEdge } from '#adapters/mqtt/mqtt-edge.ts';
import { createMqttNotifier } from '#adapters/notify/mqtt/mqtt-notifier.ts';
import type { Clock } from '#adapters/ports/edge.ts';
import type { HubAdapters } from '#adapters/ports/hub-adapters.ts';
import { hearPort } from '#adapters/serial/hear-port.ts';
import { listPorts } from '#adapters/serial/list-ports.ts';
import { createSerialEdge } from '#adapters/serial/serial-edge.ts';
import { openInAnyCase } from '#adapters/sqlite/open-in-any-case.ts';
import { openStore } from '#adapters/sqlite/open-store.ts';
import { draftRecord } from '#adapters/sqlite/record-in.ts';
import { readRecord } from '#adapters/sqlite/record-out.ts';
import { backupStoreFile, restoreStoreFile } from '#adapters/sqlite/store-files.ts';
import { createServiceManager } from '#adapters/systemd/service-manager.ts';
import type { VerbAdapters } from './cli/verb-adapters.ts';

/** The composition root: the one file that knows the concrete adapters. */

function pem(path: string | undefined): Buffer | undefined {
  return path === undefined ? undefined : readFileSync(path);
}

/** When these files were built; of sources there is no such time. */
const builtMs = import.meta.url.endsWith('.ts') ? undefined : statSync(fileURLToPath(import.meta.url)).mtimeMs;

/** A folder in memory that a service manager keeps while the hub is down: RuntimeDirectory= of systemd.exec(5), the first of several. */
function runtimeFolder(): string | undefined {
  return process.env['RUNTIME_DIRECTORY']?.split(':')[0] || undefined;
}

/** Everything concrete, on one clock. Each hub has its own: a room's clock remembers what happened to it. */
export function hubAdaptersOn(machineClock: Clock): HubAdapters {
  const clock = createRoomClock(machineClock, { builtMs, isMachineClockSet });
  return {
    clock,
    serviceManager: createServiceManager(process.env, process.pid, (why) =>
      process.emitWarning(`the service manager is not told how the hub is: ${why}`),
    ),
    openStore: ({ isInAnyCase, ...choice }) =>
      (isInAnyCase === true ? openInAnyCase : openStore)({ ...choice, clock, unflushedFolder: runtimeFolder() }),
    createBroker: ({ certFile, keyFile, ...choice }, listener) => {
      const [cert, key] = [pem(certFile), pem(keyFile)];
      const tls = cert === undefined || key === undefined ? {} : { tls: { cert, key } };
      return createEmbeddedBroker({ ...choice, ...tls }, listener, clock);
    },
    createLink: ({ caFile, certFile, keyFile, ...choice }, subscriptions, sink, listener, onMessage) => {
      const files = { ca: pem(caFile), cert: pem(certFile), key: pem(keyFile) };
      const tls = Object.fromEntries(Object.entries(files).filter(([, bytes]) => bytes !== undefined));
      return createMqttEdge({ ...choice, tls }, subscriptions, sink, listener, onMessage, clock);
    },
    createNotifiers: ({ topics, link }) => [createMqttNotifier(topics, link)],
    createSerial: (choice, sink, listener) => createSerialEdge(choice, sink, listener, clock),
    createMirror: (choice, outbox, listener) => createInfluxEdge(choice, outbox, listener, clock),
    mirrorBatch,
    createHistory: createHistoryReader,
    readSenml: (text, nowMs) => {
      const decoded = decodeSenml(text, { nowMs });
      return decoded.ok ? decoded.values : [];
    },
    csvLine: csvTables.line,
    writeFile: writeWholeFile,
    writeOver,
  };
}

/** For the verbs of the command line. */
export const adaptersForVerbs: VerbAdapters = {
  get hub() {
    return hubAdaptersOn(systemClock);
  },
  tables: csvTables,
  readings: { read: readReadingsCsv },
  backupStore: backupStoreFile,
  restoreStore: (backupPath, storePath) => restoreStoreFile(backupPath, storePath, systemClock),
  records: {
    read: (copyPath, onDamage) => readRecord(copyPath, systemClock, onDamage),
    draft: (storePath) => draftRecord(storePath, systemClock),
  },
  firstLook: {
    ports: async (only) => {
      const ports = await listPorts();
      // One that is named may be of a kind that the list does not know.
      return only?.map((path) => ports.find((port) => port.path === path) ?? { path, device: path }) ?? ports;
    },
    hearPort,
    hearBroker,
  },
  async listPorts(print) {
    const ports = await listPorts();
    if (ports.length === 0) print('No serial port was found. Is the probe board plugged in?');
    for (const { path, device, maker } of ports)
      print([path, path === device ? '' : `(now ${device})`, maker].filter(Boolean).join('  '));
  },
};
