import { existsSync, readFileSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { DateTime } from 'luxon';
import { type Document, isMap, isSeq, parseDocument } from 'yaml';
import { topics } from './wire-format.ts';

/** Where this run of the demonstration lives. */
export type DemoPlace = {
  /** What the hub opens as the serial port of the display's board; absent: the board speaks over MQTT. */
  ptyPath: string | undefined;
  brokerPort: number;
  httpPort: number;
  /** Store and weekly files go below it. */
  dataDir: string;
};

const exampleFile = join('fixtures', 'demo', 'demo.yaml');

/** The IANA zone of the invented room. */
export const demoTimezone = 'Europe/Lisbon';

/** Minutes by which the invented room's clocks are ahead of UTC at that time. */
export function demoUtcOffsetMinutes(timeMs: number): number {
  return DateTime.fromMillis(timeMs, { zone: demoTimezone }).offset;
}

/**
 * The configuration of the demonstration as YAML: the commented example with this run's paths and ports put in.
 *
 * @throws Error  when the example file is not where the package keeps it
 */
export function demoConfig(place: DemoPlace): string {
  const document = parseDocument(readFileSync(examplePath(), 'utf8'));
  document.setIn(['data_dir'], place.dataDir);
  document.setIn(['weekly', 'dir'], join(place.dataDir, 'weekly'));
  document.setIn(['http', 'port'], place.httpPort);
  document.setIn(['broker', 'port'], place.brokerPort);
  if (place.ptyPath === undefined) moveBoardToMqtt(document);
  else document.setIn(['serial', 0, 'path'], place.ptyPath);
  return document.toString({ lineWidth: 0, flowCollectionPadding: false });
}

/** Without a pseudo-terminal the same lines come as MQTT messages. */
function moveBoardToMqtt(document: Document.Parsed): void {
  document.deleteIn(['serial']);
  const probes = document.getIn(['probes']);
  if (!isSeq(probes)) throw new Error(`${exampleFile} has no list of probes`);
  for (const probe of probes.items) {
    if (!isMap(probe) || !probe.has('serial')) continue;
    const channel = probe.getIn(['serial', 'channel']);
    probe.delete('serial');
    probe.set('mqtt', document.createNode({ topic: topics.displayBoard, format: 'key_value', channel }));
  }
}

/** The example beside the package: found from the sources and from the built files alike, which lie at other depths. */
function examplePath(): string {
  const start = dirname(fileURLToPath(import.meta.url));
  for (let folder = start; ; folder = dirname(folder)) {
    const path = join(folder, exampleFile);
    if (existsSync(path)) return path;
    if (folder === dirname(folder))
      throw new Error(`${exampleFile} is missing above ${start}: install the package whole`);
  }
}
