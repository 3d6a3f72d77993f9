import * as z from 'zod';
import { ruleKinds } from '#rules/bands/kinds/list.ts';
import { priorities } from '#rules/bands/watched-room.ts';
import { metrics } from '#rules/quantity/metric.ts';
import { accessSchema, brokerSchema, httpSchema } from './schema-access.ts';
import { backupsSchema } from './schema-backups.ts';
import { clockSchema } from './schema-clock.ts';
import { idSchema as id, positive } from './schema-fields.ts';
import { fleetSchema } from './schema-fleet.ts';
import { influxSchema } from './schema-influx.ts';
import { logSchema } from './schema-log.ts';
import { noticesSchema } from './schema-notices.ts';
import { systemSchema } from './schema-systems.ts';

/**
 * The shape of the configuration file. Every object is strict, so that a misspelt key is an error and not a silence.
 * What one field alone cannot tell (a probe that names an unknown system) is in `cross-checks.ts`.
 */

const topicName = z
  .string()
  .min(1)
  .max(200)
  .regex(/^[^+#\0]+$/, 'an MQTT topic without the wildcards + and #');
const secret = {
  username: z.string().min(1).optional(),
  password_env: z
    .string()
    .min(1)
    .optional()
    .describe('Name of the environment variable that holds the password; the password itself never stands here.'),
  password_file: z.string().min(1).optional().describe('Path of a file that holds the password and nothing else.'),
};

const lineFormats = ['senml', 'key_value', 'csv', 'number'] as const;
const messageFormats = ['senml', 'json', 'number', 'key_value'] as const;

const serialPortSchema = z.strictObject({
  id,
  path: z.string().min(1).max(300).describe('A stable path, e.g. below /dev/serial/by-id/.'),
  baud: z.int().min(110).max(4_000_000).default(9600),
  data_bits: z.union([z.literal(7), z.literal(8)]).default(8),
  parity: z.enum(['none', 'even', 'odd']).default('none'),
  stop_bits: z.union([z.literal(1), z.literal(2)]).default(1),
  line_end: z.enum(['lf', 'cr', 'crlf']).default('lf'),
  format: z.enum(lineFormats),
  columns: z
    .array(z.string().min(1).max(60))
    .max(64)
    .optional()
    .describe('For `csv`: the channel of each column, in order; `-` skips one.'),
  separator: z.enum([',', ';', 'tab', 'space']).default(','),
});

const calibrationSchema = z.strictObject({
  slope: z
    .number()
    .refine((slope) => slope !== 0, 'a slope other than 0')
    .default(1),
  offset: z.number().default(0),
  date: z.iso.date().optional(),
});

const probeSchema = z.strictObject({
  id,
  system: id,
  metric: z.enum(metrics),
  name: z.string().min(1).max(60).optional(),
  serial: z.strictObject({ port: id, channel: z.string().max(120).default('') }).optional(),
  mqtt: z
    .strictObject({
      topic: topicName,
      format: z.enum(messageFormats).default('number'),
      channel: z
        .string()
        .max(120)
        .default('')
        .describe('SenML name or key; for `json` a dotted path to the value, e.g. `water.ph`.'),
      time_path: z
        .string()
        .max(120)
        .optional()
        .describe("For `json`: dotted path to the payload's own time (ISO 8601, or UTC seconds or milliseconds)."),
    })
    .optional(),
  unit: z
    .string()
    .min(1)
    .max(20)
    .optional()
    .describe("As the probe sends it, when that is not the metric's own unit and the payload does not say."),
  every_seconds: positive.optional(),
  calibration: calibrationSchema.optional(),
  compensation_percent_per_C: z
    .number()
    .min(0)
    .max(5)
    .optional()
    .describe('For a conductivity probe that shows a value referred to 25 °C: its linear coefficient, % per °C.'),
  signal: z
    .enum(['ph', 'mV'])
    .optional()
    .describe("For a pH probe: whether it sends a pH, made with an ideal electrode, or the electrode's potential."),
  meter_temperature_C: z
    .number()
    .min(0)
    .max(50)
    .optional()
    .describe('For a pH probe that sends a pH: the temperature that it was made with; 25 °C unless given.'),
  temperature_probe: id
    .optional()
    .describe("For a conductivity or pH probe: the probe that gives its water's temperature."),
  temperature_at_most_seconds_old: positive
    .default(120)
    .describe("How old that temperature may be before no salinity is computed from it, nor an electrode's slope."),
  ph_scale: z
    .enum(['nbs', 'total', 'seawater', 'free'])
    .default('nbs')
    .describe('For pH: the scale its calibration put it on.'),
});

const ruleSchema = z.strictObject({
  rule: z.enum(ruleKinds),
  system: id.optional(),
  metric: z.enum(metrics).optional(),
  enabled: z.boolean().optional(),
  priority: z.enum(priorities).optional(),
  on_delay_minutes: z.number().nonnegative().optional(),
  off_delay_minutes: z.number().nonnegative().optional(),
  deadband: z.number().nonnegative().optional(),
  gap_tolerance_minutes: positive.optional(),
  re_alarm_minutes: positive.optional(),
});

const mqttSchema = z.strictObject({
  url: z
    .string()
    .regex(/^(mqtts?|wss?):\/\/[^\s]+$/, 'a URL such as mqtt://192.0.2.7:1883')
    .optional()
    .describe('An outside broker (mqtt:// or mqtts://). Absent: the hub starts a broker of its own.'),
  protocol: z.enum(['3.1.1', '5']).default('3.1.1'),
  client_id: z.string().min(1).max(60).optional(),
  ...secret,
  ca_file: z.string().optional(),
  cert_file: z.string().optional(),
  key_file: z.string().optional(),
  prefix: topicName
    .default('brinekeep')
    .describe('First level of every topic that the hub itself writes or listens to for commands.'),
  readings_every_seconds: z
    .number()
    .min(0)
    .max(3600)
    .default(30)
    .describe('The newest reading of each probe goes to the broker this often, retained, as SenML; 0 never.'),
});

export const configSchema = z.strictObject({
  site: z.strictObject({
    name: z.string().min(1).max(60),
    timezone: z.string().min(1).default('UTC'),
  }),
  data_dir: z.string().min(1).default('./data'),
  flush_seconds: z
    .number()
    .min(0.2)
    .max(600)
    .default(10)
    .describe('Readings are written to disk this often: fewer writes spare the card, more lose less in a power cut.'),
  protocols_dir: z
    .string()
    .min(1)
    .optional()
    .describe("Folder with the keeper's own protocols for new corals, one YAML file each. Ours are there without it."),
  pests_file: z
    .string()
    .min(1)
    .optional()
    .describe("YAML file with the keeper's own pests, beside ours: see arrivals-day.md."),
  keep_readings_days: z.number().min(1).max(36_500).default(400),
  clock: clockSchema.prefault({}),
  backups: backupsSchema.prefault({}),
  log: logSchema.prefault({}),
  http: httpSchema.prefault({}),
  access: accessSchema.prefault({}),
  mqtt: mqttSchema.prefault({}),
  broker: brokerSchema.prefault({}),
  influx: influxSchema.optional(),
  fleet: fleetSchema.optional(),
  notices: noticesSchema.prefault({}),
  display_units: z
    .partialRecord(z.enum(metrics), z.string().max(20))
    .default({})
    .describe(
      'In which unit a person wants to see a metric, e.g. `temperature: °F`, `salinity: sg`; the store keeps its own.',
    ),
  weekly: z.strictObject({ dir: z.string().min(1).default('./weekly') }).prefault({}),
  systems: z.array(systemSchema).min(1).max(500),
  serial: z.array(serialPortSchema).max(100).default([]),
  probes: z.array(probeSchema).max(5000).default([]),
  rules: z.array(ruleSchema).max(1000).default([]),
});

export type Config = z.infer<typeof configSchema>;
export type SystemConfig = Config['systems'][number];
export type ProbeConfig = Config['probes'][number];
export type SerialPortConfig = Config['serial'][number];
