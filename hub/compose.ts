import { readFileSync } from 'node:fs';
import { createEmbeddedBroker } from '#adapters/broker/embedded-broker.ts';
import { systemClock } from '#adapters/clock/system-clock.ts';
import { readReadingsCsv } from '#adapters/csv/readings-csv.ts';
import { csvTables } from '#adapters/csv/tables.ts';
import { writeWholeFile } from '#adapters/csv/write-file.ts';
import { createInfluxEdge } from '#adapters/influx/influx-edge.ts';
import { mirrorBatch } from '#adapters/influx/points.ts';
import { hearBroker } from '#adapters/mqtt/hear-broker.ts';
import { createMqttEdge } from '#adapters/mqtt/mqtt-edge.ts';
import type { HubAdapters } from '#adapters/ports/hub-adapters.ts';
import { hearPort } from '#adapters/serial/hear-port.ts';
import { listPorts } from '#adapters/serial/list-ports.ts';
import { createSerialEdge } from '#adapters/serial/serial-edge.ts';
import { openStore } from '#adapters/sqlite/open-store.ts';
import { backupStoreFile, restoreStoreFile } from '#adapters/sqlite/store-files.ts';
import { createServiceManager } from '#adapters/systemd/service-manager.ts';
import type { VerbAdapters } from './cli/verb-adapters.ts';

/** The composition root: the one file that knows the concrete adapters. */

const clock = systemClock;

function pem(path: string | undefined): Buffer | undefined {
  return path === undefined ? undefined : readFileSync(path);
}

const hubAdapters: HubAdapters = {
  clock,
  serviceManager: createServiceManager(process.env, process.pid, (why) =>
    process.emitWarning(`the service manager is not told how the hub is: ${why}`),
  ),
  openStore: (choice) => openStore({ ...choice, clock }),
  createBroker: (choice, listener) => createEmbeddedBroker(choice, listener, clock),
  createLink: ({ caFile, certFile, keyFile, ...choice }, subscriptions, sink, listener, onMessage) => {
    const files = { ca: pem(caFile), cert: pem(certFile), key: pem(keyFile) };
    const tls = Object.fromEntries(Object.entries(files).filter(([, bytes]) => bytes !== undefined));
    return createMqttEdge({ ...choice, tls }, subscriptions, sink, listener, onMessage, clock);
  },
  createSerial: (choice, sink, listener) => createSerialEdge(choice, sink, listener, clock),
  createMirror: (choice, outbox, listener) => createInfluxEdge(choice, outbox, listener, clock),
  mirrorBatch,
  csvLine: csvTables.line,
  writeFile: writeWholeFile,
};

/** For the verbs of the command line. */
export const adaptersForVerbs: VerbAdapters = {
  hub: hubAdapters,
  tables: csvTables,
  readings: { read: readReadingsCsv },
  backupStore: backupStoreFile,
  restoreStore: (backupPath, storePath) => restoreStoreFile(backupPath, storePath, clock),
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
