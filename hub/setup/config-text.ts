import { type Metric, metricFacts } from '#rules/quantity/metric.ts';
import { type FoundPort, type FoundProbe, probeIds, wordsOf } from './found-probes.ts';
import { type Livestock, livestockWords, stockBands, testEveryDays } from './stock-bands.ts';

export type SetupChoice = {
  siteName: string;
  timezone: string;
  systemId: string;
  systemName: string;
  volumeL: number;
  livestock: Livestock;
  dataDir: string;
  httpPort: number;
  broker:
    | { own: true; port: number }
    | { own: false; url: string; username?: string; passwordFile?: string; caFile?: string };
  ports: readonly FoundPort[];
  probes: readonly FoundProbe[];
};

/** A JSON string is a YAML string too, whatever is in it. */
const text = (value: string) => JSON.stringify(value);

/** A first configuration with its explanations, to be read and changed by a person. */
export function configText(choice: SetupChoice): string {
  const ids = probeIds(choice.systemId, choice.probes);
  return [
    '# The configuration of the hub. After a change: brinekeep check FILE, which lists every mistake with its line, then restart',
    '# the hub. A line that begins with # is a comment.',
    '',
    'site:',
    `  name: ${text(choice.siteName)}`,
    `  timezone: ${text(choice.timezone)} # an IANA zone; weeks, quiet hours and tests count by it`,
    '',
    `data_dir: ${text(choice.dataDir)} # the store`,
    'flush_seconds: 10 # readings reach the card this often; a power cut loses at most this many seconds of them',
    '',
    'http:',
    '  host: 127.0.0.1 # this machine only; 0.0.0.0 for the home network, once you have set a passphrase: brinekeep passphrase',
    `  port: ${choice.httpPort}`,
    '',
    ...brokerLines(choice.broker),
    '',
    'weekly:',
    `  dir: ${text(`${choice.dataDir}/weekly`)} # the CSV of each week`,
    '',
    'notices: # what may ring at night; high alarms always may',
    '  quiet_hours:',
    "    medium: {from: '22:00', to: '07:00'}",
    "    low: {from: '22:00', to: '07:00'}",
    '',
    ...systemLines(choice),
    '',
    ...portLines(choice.ports),
    ...probeLines(choice, ids),
    '',
  ].join('\n');
}

function brokerLines(broker: SetupChoice['broker']): string[] {
  if (broker.own) {
    return [
      "broker: # the hub's own MQTT broker, to which probes on the network send",
      '  host: 127.0.0.1 # this machine only; 0.0.0.0 for other devices, which then need users: with a password each',
      `  port: ${broker.port}`,
    ];
  }
  return [
    'mqtt: # the broker that the probes send to and the phone listens to',
    `  url: ${text(broker.url)}`,
    ...(broker.username === undefined ? [] : [`  username: ${text(broker.username)}`]),
    ...(broker.passwordFile === undefined ? [] : [`  password_file: ${text(broker.passwordFile)}`]),
    ...(broker.caFile === undefined ? [] : [`  ca_file: ${text(broker.caFile)}`]),
  ];
}

function systemLines({ systemId, systemName, volumeL, livestock }: SetupChoice): string[] {
  const bands = Object.entries(stockBands[livestock]) as [Metric, Record<string, number>][];
  const tests = Object.entries(testEveryDays[livestock]);
  return [
    'systems:',
    `  - id: ${systemId}`,
    `    name: ${text(systemName)}`,
    `    volume_l: ${volumeL} # net: without rock, sand and what the overflow holds`,
    `    # Bands to begin with, for ${livestockWords[livestock]}: common practice, no published source. Narrow them to`,
    '    # what your own animals are used to. most_per_day is how much may change within a day.',
    '    bands:',
    ...bands.map(([metric, band]) => {
      const parts = Object.entries(band).map(([key, value]) => `${key}: ${value}`);
      const { unit } = metricFacts[metric];
      return `      ${metric}: {${parts.join(', ')}}${unit === '' ? '' : ` # ${unit}`}`;
    }),
    '    # A reminder to test by hand, in days.',
    `    test_every_days: {${tests.map(([metric, days]) => `${metric}: ${days}`).join(', ')}}`,
    '    # What you dose from, so that doses can be suggested (strengths of your own solutions):',
    '    # stocks:',
    '    #   - {id: soda, name: Sodium carbonate, substance: sodium_carbonate, grams_per_litre: 106, container_ml: 5000}',
  ];
}

function portLines(ports: readonly FoundPort[]): string[] {
  if (ports.length === 0) {
    return [
      '# A probe board on a serial port; brinekeep --list-ports names the ports:',
      '# serial:',
      '#   - {id: sump, path: /dev/serial/by-id/usb-probe-board, baud: 9600, format: key_value}',
    ];
  }
  return [
    'serial: # by a path that stays the same when the board is put into another socket, where there is one',
    ...portItems(ports),
  ];
}

/** A line for each port, as an item of a list. */
export function portItems(ports: readonly FoundPort[]): string[] {
  return ports.map(({ id, path, speech, columns }) => {
    const csv =
      speech.format === 'csv'
        ? [`separator: ${text(speech.separator ?? ',')}`, `columns: [${(columns ?? []).map(text).join(', ')}]`]
        : [];
    const parts = [`id: ${id}`, `path: ${text(path)}`, `baud: ${speech.baud}`, `line_end: ${speech.lineEnd}`];
    return `  - {${[...parts, `format: ${speech.format}`, ...csv].join(', ')}}`;
  });
}

function probeLines({ systemId, probes }: SetupChoice, ids: readonly string[]): string[] {
  if (probes.length === 0) {
    return [
      '# Probes; without any the hub keeps your tests by hand and reminds you of them:',
      '# probes:',
      `#   ${serialExample(systemId)}`,
      `#   ${mqttExample(systemId)}`,
    ];
  }
  const hasPort = probes.some(({ by }) => by === 'serial');
  const hasTopic = probes.some(({ by }) => by === 'mqtt');
  return [
    'probes:',
    ...probeItems(systemId, probes, ids),
    ...(hasPort
      ? []
      : ['  # A probe on a serial port, once the port is listed under serial:', `  # ${serialExample(systemId)}`]),
    ...(hasTopic ? [] : ['  # A probe that sends over MQTT:', `  # ${mqttExample(systemId)}`]),
  ];
}

/** Each probe as an item of a list, with what was heard when it was found. @param ids  one for each, in their order */
export function probeItems(
  systemId: string,
  probes: readonly FoundProbe[],
  ids: readonly string[],
  knownTemperature?: string,
): string[] {
  const temperature = ids[probes.findIndex(({ guess }) => guess.metric === 'temperature')] ?? knownTemperature;
  return probes.flatMap((probe, index) => {
    const { metric, unit } = probe.guess;
    const channel = probe.channel === '' ? '' : `, channel: ${text(probe.channel)}`;
    const from =
      probe.by === 'serial'
        ? `serial: {port: ${probe.portId}${channel}}`
        : `mqtt: {topic: ${text(probe.topic)}, format: ${probe.format}${channel}}`;
    // Salinity and a pH electrode's slope need the temperature of the same water.
    const needsTemperature = ['conductivity', 'specific_conductance_25', 'ph'].includes(metric);
    return [
      `  # when set up: ${wordsOf(probe)}`,
      `  - id: ${ids[index]}`,
      `    system: ${systemId}`,
      `    metric: ${metric}`,
      `    ${from}`,
      ...(unit === undefined ? [] : [`    unit: ${text(unit)}`]),
      ...(needsTemperature && temperature !== undefined ? [`    temperature_probe: ${temperature}`] : []),
      ...(probe.everySeconds === undefined ? [] : [`    every_seconds: ${niceSeconds(probe.everySeconds)}`]),
    ];
  });
}

const serialExample = (id: string) =>
  `- {id: ${id}-return-temperature, system: ${id}, metric: temperature, serial: {port: sump, channel: t}}`;
const mqttExample = (id: string) =>
  `- {id: ${id}-sump-ph, system: ${id}, metric: ph, mqtt: {topic: fishroom/${id}/ph}}`;

/** Two figures: a pace that was measured over a few lines is no better known. */
function niceSeconds(seconds: number): number {
  return Number(Math.max(0.1, seconds).toPrecision(2));
}
