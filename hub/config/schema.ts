import { z } from 'zod';
import { priorities, ruleKinds } from '#rules/bands/watched-room.ts';
import { substanceIds } from '#rules/dosing/substance.ts';
import { type Metric, metrics } from '#rules/quantity/metric.ts';
import { accessSchema, brokerSchema, httpSchema } from './schema-access.ts';
import { backupsSchema } from './schema-backups.ts';
import { clockSchema } from './schema-clock.ts';
import { logSchema } from './schema-log.ts';

/**
 * The shape of the configuration file. Every object is strict, so that a misspelt key is an error and not a silence.
 * What one field alone cannot tell (a probe that names an unknown system) is in `cross-checks.ts`.
 */

const id = z
  .string()
  .regex(
    /^[a-z0-9][a-z0-9_-]{0,39}$/,
    'small letters, digits, - and _, starting with a letter or digit, at most 40 characters',
  );
const positive = z.number().positive();
const topicName = z
  .string()
  .min(1)
  .max(200)
  .regex(/^[^+#\0]+$/, 'an MQTT topic without the wildcards + and #');
const secret = {
  username: z.string().min(1).optional(),
  /** Name of the environment variable, or path of the file, that holds the secret. Never the secret itself. */
  password_env: z.string().min(1).optional(),
  password_file: z.string().min(1).optional(),
};

const bandSchema = z.strictObject({
  low: z.number(),
  high: z.number(),
  most_per_hour: positive.optional(),
  most_per_day: positive.optional(),
});

const bandsSchema = z.strictObject(
  Object.fromEntries(metrics.map((metric) => [metric, bandSchema.optional()])) as Record<
    Metric,
    z.ZodOptional<typeof bandSchema>
  >,
);

const stockSchema = z.strictObject({
  id,
  name: z.string().min(1).max(80),
  /** What is dissolved; `own_strength` for a bought solution whose label states what a millilitre does. */
  substance: z.enum([...substanceIds, 'own_strength']),
  /** Grams of the substance in a litre of the finished solution; absent for a product that is weighed dry. */
  grams_per_litre: positive.optional(),
  /** For `own_strength`: what one millilitre adds to 100 litres, in dKH or mg/L. */
  raises_100_l_by_per_ml: positive.optional(),
  raises: z.enum(['alkalinity', 'calcium', 'magnesium']).optional(),
  container_ml: positive.optional(),
  /** Most that its maker or the keeper allows in a day for each 100 litres of the system. */
  most_ml_per_day_per_100_l: positive.optional(),
});

const planSchema = z.strictObject({
  stock: id,
  ml_per_day: z.number().nonnegative(),
  times_per_day: z.int().min(1).max(288).default(1),
});

const systemSchema = z.strictObject({
  id,
  name: z.string().min(1).max(60),
  volume_l: z.number().min(1).max(1_000_000),
  bands: bandsSchema,
  /** What the keeper doses from; the first one that raises an analyte is the one that advice speaks of. */
  stocks: z.array(stockSchema).max(20).default([]),
  /** Doses given every day by hand or machine, taken as done until told otherwise. */
  standing_plan: z.array(planSchema).max(20).default([]),
  /** The highest pH that a single dose may lead to, by the carbonate system. */
  highest_ph_after_dose: z.number().min(8).max(9).default(8.5),
  test_every_days: z.partialRecord(z.enum(metrics), positive).default({}),
});

const lineFormats = ['senml', 'key_value', 'csv', 'number'] as const;
const messageFormats = ['senml', 'json', 'number', 'key_value'] as const;

const serialPortSchema = z.strictObject({
  id,
  /** A stable path, e.g. below /dev/serial/by-id/. */
  path: z.string().min(1).max(300),
  baud: z.int().min(110).max(4_000_000).default(9600),
  data_bits: z.union([z.literal(7), z.literal(8)]).default(8),
  parity: z.enum(['none', 'even', 'odd']).default('none'),
  stop_bits: z.union([z.literal(1), z.literal(2)]).default(1),
  line_end: z.enum(['lf', 'cr', 'crlf']).default('lf'),
  format: z.enum(lineFormats),
  /** For `csv`: the channel of each column, in order; `-` skips one. */
  columns: z.array(z.string().min(1).max(60)).max(64).optional(),
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
      /** SenML name or key; for `json` a dotted path to the value, e.g. `water.ph`. */
      channel: z.string().max(120).default(''),
      /** For `json`: dotted path to the payload's own time (ISO 8601, or UTC seconds or milliseconds). */
      time_path: z.string().max(120).optional(),
    })
    .optional(),
  /** As the probe sends it, when that is not the metric's own unit and the payload does not say. */
  unit: z.string().min(1).max(20).optional(),
  every_seconds: positive.optional(),
  calibration: calibrationSchema.optional(),
  /** For a conductivity probe that shows a value referred to 25 °C: its linear coefficient, % per °C. */
  compensation_percent_per_C: z.number().min(0).max(5).optional(),
  /** For a pH probe: whether it sends a pH, made with an ideal electrode, or the electrode's potential. */
  signal: z.enum(['ph', 'mV']).optional(),
  /** For a pH probe that sends a pH: the temperature that it was made with; 25 °C unless given. */
  meter_temperature_C: z.number().min(0).max(50).optional(),
  /** For a conductivity or pH probe: the probe that gives its water's temperature. */
  temperature_probe: id.optional(),
  /** How old that temperature may be before no salinity is computed from it, nor an electrode's slope. */
  temperature_at_most_seconds_old: positive.default(120),
  /** For pH: the scale its calibration put it on. */
  ph_scale: z.enum(['nbs', 'total', 'seawater', 'free']).default('nbs'),
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

const clockTime = z.string().regex(/^([01]\d|2[0-3]):[0-5]\d$/, 'a time of day such as 22:00');

/** By the wall clock of the site's zone; the same time twice: no quiet hours. */
export const quietSchema = z.strictObject({ from: clockTime.default('22:00'), to: clockTime.default('07:00') });

const noticesSchema = z.strictObject({
  /** A high alarm asks somebody to act now and has none; the others wait for a person who is awake. */
  quiet_hours: z.strictObject({ medium: quietSchema.prefault({}), low: quietSchema.prefault({}) }).prefault({}),
  /** Above about 12 alarms an hour a person cannot follow them (ISA-18.2, from memory); a summary then says the rest. */
  most_per_hour: z.int().min(1).max(1000).default(12),
  /** A high alarm is said at once. The others wait a moment: what ends within it is never said. */
  group_seconds: z
    .strictObject({
      high: z.number().min(0).max(5).default(0),
      medium: z.number().min(0).max(600).default(10),
      low: z.number().min(0).max(3600).default(60),
    })
    .prefault({}),
  /** First pause before an alarm that nobody acknowledges is said again; it doubles, up to 16 times and at most a day. */
  repeat_minutes: z
    .strictObject({
      high: positive.max(1440).default(15),
      medium: positive.max(1440).default(240),
      low: positive.max(1440).default(1440),
    })
    .prefault({}),
  /** Long enough to wake up and look, short beside the hours that a tank without heater or air has. */
  escalate_after_minutes: positive.max(1440).default(20),
});

const mqttSchema = z.strictObject({
  /** An outside broker (mqtt:// or mqtts://). Absent: the hub starts a broker of its own. */
  url: z
    .string()
    .regex(/^(mqtts?|wss?):\/\/[^\s]+$/, 'a URL such as mqtt://192.0.2.7:1883')
    .optional(),
  protocol: z.enum(['3.1.1', '5']).default('3.1.1'),
  client_id: z.string().min(1).max(60).optional(),
  ...secret,
  ca_file: z.string().optional(),
  cert_file: z.string().optional(),
  key_file: z.string().optional(),
  /** First level of every topic that the hub itself writes or listens to for commands. */
  prefix: topicName.default('brinekeep'),
  /** The newest reading of each probe goes to the broker this often, retained, as SenML; 0 never. */
  readings_every_seconds: z.number().min(0).max(3600).default(30),
});

const influxSchema = z.strictObject({
  url: z.string().regex(/^https?:\/\/[^\s]+$/, 'a URL such as http://127.0.0.1:8086'),
  api: z.enum(['v2', 'v1']).default('v2'),
  org: z.string().default(''),
  bucket: z.string().min(1).optional(),
  database: z.string().min(1).optional(),
  username: z.string().min(1).optional(),
  token_env: z.string().min(1).optional(),
  token_file: z.string().min(1).optional(),
  /**
   * For a server that may lose its last seconds when it is killed: every batch is delivered once more after so long; 0 never.
   * 30 for `v1`, since VictoriaMetrics may stand behind it; 0 for `v2`.
   */
  resend_after_seconds: z.number().nonnegative().max(3600).optional(),
  /** At most so many batches wait on disk; beyond that the oldest is dropped, counted, and an alarm says so. */
  most_waiting_batches: z.int().min(10).default(200_000),
});

export const configSchema = z.strictObject({
  site: z.strictObject({
    name: z.string().min(1).max(60),
    timezone: z.string().min(1).default('UTC'),
  }),
  data_dir: z.string().min(1).default('./data'),
  /** Readings are written to disk this often: fewer writes spare the card, more lose less in a power cut. */
  flush_seconds: z.number().min(0.2).max(600).default(10),
  /** Folder with the keeper's own protocols for new corals, one YAML file each. Ours are there without it. */
  protocols_dir: z.string().min(1).optional(),
  keep_readings_days: z.number().min(1).max(36_500).default(400),
  clock: clockSchema.prefault({}),
  backups: backupsSchema.prefault({}),
  log: logSchema.prefault({}),
  http: httpSchema.prefault({}),
  access: accessSchema.prefault({}),
  mqtt: mqttSchema.prefault({}),
  broker: brokerSchema.prefault({}),
  influx: influxSchema.optional(),
  notices: noticesSchema.prefault({}),
  /** In which unit a person wants to see a metric, e.g. `temperature: °F`, `salinity: sg`; the store keeps its own. */
  display_units: z.partialRecord(z.enum(metrics), z.string().max(20)).default({}),
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
