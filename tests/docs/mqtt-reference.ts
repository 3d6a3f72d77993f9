import * as z from 'zod';
import { commandSchema } from '#hub/judgement/notices/command.ts';
import { alarmState } from '#hub/judgement/notices/notice-items.ts';
import {
  alarmPayload,
  heartbeatPayload,
  readingPayload,
  statusPayload,
  weekPayload,
} from '#hub/judgement/notices/payload-schemas.ts';
import { escalatedLine, openingLine } from '#hub/judgement/notices/phone-line.ts';
import { topicsBelow } from '#hub/model/config/topics.ts';
import {
  doseMessageSchema,
  refillMessageSchema,
  testMessageSchema,
  waterChangeMessageSchema,
} from '#hub/model/entries/entry-schemas.ts';
import { aboutSchema } from '#hub/outside/fleet/about.ts';
import { readingTopic, senmlPack } from '#hub/outside/outward/senml-pack.ts';
import type { AlarmEvent } from '#rules/bands/alarm-event.ts';
import type { Reading } from '#rules/quality/reading.ts';
import type { JsonSchema } from './openapi-document.ts';
import { code, fieldsOf, table, wordsOf } from './schema-words.ts';

const prefix = 'brinekeep';
const timeMs = Date.UTC(2026, 10, 23, 4, 12);
const time = new Date(timeMs).toISOString();

/** Invented, as all examples here. */
const event: AlarmEvent = {
  ...{ timeMs, alarm: 'display/temperature/out_of_band/high', occurrence: 3, state: 'raised', system: 'display' },
  ...{ metric: 'temperature', rule: 'out_of_band', priority: 'high', value: 26.9 },
  message:
    'Temperature is 26.90 °C, above the band 25 to 26.5 °C for 5 min. Check that the heater is not stuck on, then fans, chiller and room.',
};
const reading: Reading = {
  series: { system: 'display', metric: 'temperature', probe: 'display-temperature' },
  timeMs,
  quality: { flag: 'pass', value: 25.62 },
};

type Page = {
  what: string;
  isIncoming?: boolean;
  isRetained: boolean;
  schema?: z.ZodType;
  examples: string[];
  more?: string[];
};

/** Of every topic below the prefix what its name alone does not say. */
const pages: Record<string, Page> = {
  phone: {
    what: 'One plain line for each notice, at most 180 characters: alarms, their end, timers, answers to commands, the week. What is to do, asked by `today?` or at `notices.today_at`, comes as up to seven lines in one message.',
    isRetained: false,
    examples: [openingLine('high', `Display tank: ${event.message}`)],
  },
  escalated: {
    what: 'The same for a second person, when nobody acknowledges a high alarm in time, or a soak is at its maximum.',
    isRetained: false,
    examples: [escalatedLine([{ system: 'display', text: `Display tank: ${event.message}` }], 20 * 60_000)],
  },
  alarm: {
    what: 'The state of one alarm, at each change, whatever the notices do.',
    isRetained: true,
    schema: alarmPayload,
    examples: [JSON.stringify(alarmState(event, 'Display tank'))],
  },
  status: {
    what: 'Whether the hub is connected. A separate broker says `offline` when the hub or its line dies; the broker inside the hub dies with it, and says nothing.',
    isRetained: true,
    schema: statusPayload,
    examples: [JSON.stringify(statusPayload.parse({ state: 'online', since: time }))],
  },
  heartbeat: {
    what: 'Once a minute, only while readings get through and the rules run.',
    isRetained: true,
    schema: heartbeatPayload,
    examples: [
      JSON.stringify(heartbeatPayload.parse({ time, since: time, readings: 51_840, status: 'ok', causes: [] })),
    ],
  },
  about: {
    what: 'Names and bands, for another hub that shows this one.',
    isRetained: true,
    schema: aboutSchema,
    examples: [],
  },
  week: {
    what: 'The result of the last whole week, on Monday after the quiet hours.',
    isRetained: true,
    schema: weekPayload,
    examples: [],
  },
  reading: {
    what: 'The newest reading of each probe, every `mqtt.readings_every_seconds`, and of each metric that was tested by hand (probe `test`). SenML (RFC 8428). A boolean record `PROBE/silent` before the flag: the hub holds the probe for silent.',
    isRetained: true,
    schema: readingPayload,
    examples: [
      senmlPack(reading),
      senmlPack(reading, true),
      senmlPack({ ...reading, quality: { flag: 'fail', raw: 85, why: 'out of range' } }),
    ],
  },
  command: {
    what: 'What a phone asks for: JSON, or a plain line. The phone topic answers each in a line: what was done, or why it was not taken.',
    isIncoming: true,
    isRetained: false,
    schema: commandSchema,
    examples: [
      ...[
        'all well?',
        'today?',
        'acknowledge all',
        `acknowledge ${event.alarm}`,
        `shelve ${event.alarm} 60 a spare heater is on its way`,
      ],
      ...[`unshelve ${event.alarm}`, 'maintenance display 30', 'end maintenance display', 'arrival a1 next'],
      JSON.stringify({ do: 'maintenance', system: 'display', probe: 'display-ph', minutes: 20, by: 'Ana' }),
    ],
    more: [
      'An arrival also takes `arrival ID done WORDS`, `arrival ID early WORDS`, `arrival ID hold DAYS` and `arrival ID back DAYS`.',
      '',
    ],
  },
  tests: {
    what: 'A test that was made. A repeated `key` is one entry. The phone topic answers each entry: `Saved: alkalinity 8.12 dKH, Display, 19:40`.',
    isIncoming: true,
    isRetained: false,
    schema: testMessageSchema,
    examples: [JSON.stringify({ system: 'display', analyte: 'alkalinity', value: 8.1, unit: 'dKH', by: 'Ana' })],
  },
  doses: {
    what: 'A dose that was given: either a stock with millilitres, or a substance with grams.',
    isIncoming: true,
    isRetained: false,
    schema: doseMessageSchema,
    examples: [
      JSON.stringify({ system: 'display', stock: 'alk', ml: 25 }),
      JSON.stringify({ system: 'display', stock: 'alk', ml: 2.5, key: 'doser-4711', answer: false }),
    ],
  },
  waterChanges: {
    what: 'A water change that was made.',
    isIncoming: true,
    isRetained: false,
    schema: waterChangeMessageSchema,
    examples: [JSON.stringify({ system: 'display', volume_l: 40, salinity: 35, alkalinity_dkh: 8 })],
  },
  refills: {
    what: 'A container of a stock that was filled.',
    isIncoming: true,
    isRetained: false,
    schema: refillMessageSchema,
    examples: [JSON.stringify({ system: 'display', stock: 'alk' })],
  },
};

/** The page about MQTT, from the topics and the schemas of what goes over them. @throws for a topic that nothing is said of */
export function mqttReference(): string {
  const topics = topicsBelow(prefix);
  const named: [string, string][] = Object.entries(topics).map(([name, topic]) => [
    name,
    typeof topic === 'string' ? topic : topic('ALARM'),
  ]);
  const { series } = reading;
  named.push([
    'reading',
    readingTopic('brinekeep', { ...series, system: 'SYSTEM', probe: 'PROBE' }).replace('temperature', 'METRIC'),
  ]);
  const described = named.map(([name, topic]) => {
    const page = pages[name];
    if (page === undefined)
      throw new Error(`tests/docs/mqtt-reference.ts says nothing of the topic ${name} (${topic})`);
    return { topic, page };
  });
  const row = ({ topic, page }: (typeof described)[number]) => [
    ...[code(topic), page.isIncoming === true ? 'to the hub' : 'from the hub', '1', page.isRetained ? 'yes' : 'no'],
    page.what,
  ];
  return [
    ...opening,
    ...table(['topic', 'direction', 'QoS', 'retained', 'what'], described.map(row)),
    '',
    ...described.flatMap(({ topic, page }) => section(topic, page)),
  ].join('\n');
}

const opening = [
  '# MQTT',
  '',
  'Written by `npm run docs` from the topics and schemas of the hub; a test checks what a running hub sends against them.',
  'All names below are under `mqtt.prefix`, here `brinekeep`. How to set up a phone: [phone.md](phone.md).',
  '',
  'Everything is sent with QoS 1 and may come twice. What comes in must not be retained: the hub ignores a retained command or entry, since it',
  'would be carried out again at every start. A message that comes in may have at most 8192 bytes. Probes publish where the',
  'configuration says (`probes[].mqtt.topic`), not below the prefix: [adding-a-probe-format.md](adding-a-probe-format.md).',
  '',
  'What a probe sends with QoS 1 while the hub is away waits at the broker. Let it carry its own time: nobody can tell when a reading',
  'without one was taken, so one that waited is counted (`waited_undated`) and left out. `brinekeep/queue-end` is a message of the hub to',
  'itself, by which it knows that all that waited has come.',
  '',
];

function section(topic: string, { schema, examples, isIncoming, more }: Page): string[] {
  const fields = schema === undefined ? [] : fieldsOf(jsonSchemaOf(schema, isIncoming === true));
  const rows = fields.map(({ name, isRequired, schema: field, onlyFor }) => {
    const { type, allowed, unit, text } = wordsOf(name, field, onlyFor);
    return [isRequired ? `**${name}**` : name, type, allowed, unit, text];
  });
  return [
    `## ${topic}`,
    '',
    ...(rows.length === 0
      ? ['A line of plain text, UTF-8.', '']
      : [...table(['field', 'type', 'allowed', 'unit', 'what'], rows), '']),
    ...(examples.length === 0 ? [] : ['Example (invented):', '', '```json', ...examples, '```', '']),
    ...(more ?? []),
  ].map((line) => (line === '```json' && rows.length === 0 ? '```text' : line));
}

function jsonSchemaOf(schema: z.ZodType, isIncoming: boolean): JsonSchema {
  return z.toJSONSchema(schema, { io: isIncoming ? 'input' : 'output' }) as JsonSchema;
}
